"""What a material is, from the words of its id and title: the job file has no field for it."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.cautions.words import found
from sequencer.job import Job, Material, Task

FAMILIES: dict[str, tuple[str, ...]] = {
    "antifouling": ("antifouling", "antifoul", "anti fouling", "bottom paint"),
    "tie-coat": ("tie coat", "tiecoat"),
    "barrier": ("barrier",),
    "primer": ("primer", "undercoat"),
    "filler": ("filler", "putty", "fairing compound"),
    "sealant": ("sealant", "caulk", "bedding compound", "polysulfide", "polysulphide"),
    "resin": ("resin", "epoxy", "polyester", "vinyl ester", "vinylester", "laminating"),
    "paint": ("paint", "topcoat", "gelcoat", "enamel", "varnish", "polyurethane", "urethane"),
}
"""Families by their words; the first that fits is taken, so an epoxy primer is a primer."""

CHEMISTRIES: dict[str, tuple[str, ...]] = {
    "styrene": ("polyester", "vinyl ester", "vinylester", "styrene", "gelcoat"),
    "polyurethane": ("polyurethane", "urethane", "isocyanate"),
    "epoxy": ("epoxy",),
}
STRUCTURAL = ("structural", "fibre", "fiber", "fibres", "fibers", "milled glass")
FLAMMABLE = ("antifouling", "primer", "tie-coat", "paint")
"""Families thinned with solvent, as a rule."""


@dataclass(frozen=True)
class Stuff:
    """A material's family and chemistry (keys of the tables above, empty where no word tells); its name for sentences.

    structural: a filler with fibre in it, for strength.
    """

    name: str
    family: str
    chemistry: str
    structural: bool

    @property
    def bonds(self) -> bool:
        """Whether it is a resin that carries load: for laminates and bonds, no filler or paint."""
        return self.family == "resin" or (self.family == "filler" and self.structural)

    @property
    def flammable(self) -> bool:
        """Whether it gives off solvent while it dries, as its family does."""
        return self.family in FLAMMABLE


def stuff_of(material: Material) -> Stuff:
    """What a material is, by its id and title."""
    text = f"{material.id} {material.title}"
    family = next((name for name, words in FAMILIES.items() if found(text, words)), "")
    chemistry = next((name for name, words in CHEMISTRIES.items() if found(text, words)), "")
    return Stuff(material.name, family, chemistry, family == "filler" and bool(found(text, STRUCTURAL)))


def stuff_in(job: Job, task: Task) -> Stuff | None:
    """What a task lays; None where it lays nothing."""
    material = job.materials.get(task.material or "")
    return stuff_of(material) if material is not None else None
