"""Checks of coats on coats: what sticks to what, what may lie on what, what must lie between."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions.doing import aboard, title_of
from sequencer.cautions.words import clauses_with, found, stated
from sequencer.job import Task
from sequencer.review.finding import PRACTICE, Finding
from sequencer.review.picture import Picture, Under

MAT = ("chopped strand", "chopped strand mat", "csm", "powder bound mat", "emulsion bound mat", "mat")
FAIRS = ("fair", "fairing", "fair it", "skim", "longboard", "long board", "low spots")
DRY_PLACES = ("topsides", "topside", "deck", "coachroof", "mast", "bench", "shed", "workshop")
ALUMINIUM = ("aluminium", "aluminum", "pod", "saildrive", "sterndrive", "stern drive", "outdrive")
OVERPAINT = ("overpaint", "antifoul", "antifouling", "topcoat", "overcoat")
COPPER_FREE = ("copper free", "copperless", "without copper", "biocide free")


def styrene_on_epoxy(picture: Picture) -> Iterator[Finding]:
    """Polyester or vinyl ester laid on epoxy."""
    for task, under in _pairs(picture):
        if picture.chemistry(task) != "styrene" or picture.chemistry(under.coat) != "epoxy":
            continue
        yield Finding(
            f"styrene-on-epoxy:{task.id}+{under.coat.id}",
            task.id,
            f"{task.id} lays {_name(picture, task)} on the epoxy of {under.coat.id}",
            "styrene resin does not stick to epoxy and stays soft against its amine; it peels off",
            PRACTICE,
            f"use epoxy in {task.id} too; epoxy sticks to cured and keyed polyester, not the other way round",
            "the names of the two materials",
        )


def mat_in_epoxy(picture: Picture) -> Iterator[Finding]:
    """Mat whose binder wants styrene, laid in epoxy."""
    for task in picture.job.task:
        word = stated(picture.all_words(task), MAT) if picture.chemistry(task) == "epoxy" else ""
        if not word or found(picture.all_words(task), ("stitched", "stitch bonded", "stitchmat")):
            continue
        yield Finding(
            f"mat-in-epoxy:{task.id}",
            task.id,
            f"{task.id} lays chopped strand mat in epoxy",
            "its binder dissolves in styrene, not in epoxy: it stays stiff and dry and does not wet out",
            PRACTICE,
            "take stitched cloth (biaxial), or mat the maker says is stitched or made for epoxy",
            f'the word "{word}" in its title, its note or its material\'s note',
        )


def structural_for_fairing(picture: Picture) -> Iterator[Finding]:
    """Fibre filler where it will have to be sanded fair."""
    for task in picture.job.task:
        stuff = picture.stuff[task.id]
        if stuff is None or not stuff.structural:
            continue
        sanded = [t for t in picture.after(task) if t.dusty and any(link.task == task.id for link in t.after)]
        word = stated(title_of(task), FAIRS)
        other = next((t for t in sanded if stated(title_of(t), FAIRS)), None)
        if not word and other is None:
            continue
        at = f'the word "{word}" in its title' if word else f"the title of {other.id if other else ''}"
        yield Finding(
            f"structural-filler-fairing:{task.id}",
            task.id,
            f"{task.id} fairs with {stuff.name}",
            "filler with fibre is for strength; it can't be sanded sensibly and stays proud of what lies beside it",
            PRACTICE,
            "fair with a light fairing filler; keep the fibre kind for fillets and bonds",
            at,
        )


def fairing_unsealed(picture: Picture) -> Iterator[Finding]:
    """Filler below the waterline with no barrier or epoxy primer over it."""
    for task in picture.job.task:
        if picture.family(task) != "filler" or not _below_water(picture, task):
            continue
        over = [t for t in picture.after(task) if t.zone == task.zone or picture.air(t) == picture.air(task)]
        if any(picture.family(t) in ("barrier", "primer", "filler") for t in over):
            continue
        yield Finding(
            f"fairing-unsealed:{task.id}",
            task.id,
            f"the filler of {task.id} goes under water with no barrier coat over it",
            "light filler drinks water through its hollow spheres, swells and comes off with the paint on it",
            PRACTICE,
            "put barrier coats (or the epoxy underwater primer its data sheet asks for) between filler and antifouling",
            f"its place {task.zone}, and no barrier or primer follows there",
        )


def antifouling_on_bare_epoxy(picture: Picture) -> Iterator[Finding]:
    """Antifouling on epoxy outside of a window made for it, and no tie coat."""
    for task, under in _pairs(picture):
        bare = picture.chemistry(under.coat) == "epoxy" and picture.family(under.coat) in ("resin", "barrier", "filler")
        if picture.family(task) != "antifouling" or not bare:
            continue
        material = picture.job.materials[under.coat.material or ""]
        meant = next((s for s in OVERPAINT if s in material.stages and material.stages[s].closes is not None), "")
        if any(t.dusty for t in under.between) or (
            picture.windowed(under) and under.stage in (meant, meant or under.stage)
        ):
            continue
        wrong = (
            f"by {under.stage}, not by its window {meant}" if meant and under.stage != meant else "outside of a window"
        )
        yield Finding(
            f"antifouling-on-bare-epoxy:{task.id}+{under.coat.id}",
            task.id,
            f"{task.id} goes on the bare epoxy of {under.coat.id} {wrong}, with no tie coat and no sanding",
            "antifouling does not bite on cured epoxy: it comes off in sheets at the first speed",
            "data sheets of barrier coats: first antifouling while still soft, else sand and one more coat",
            f"write {under.coat.id}@{meant or 'STAGE'} with a window, or a tie coat or sanding between the two",
            "the names of the two materials and the link between them",
        )


def copper_by_aluminium(picture: Picture) -> Iterator[Finding]:
    """Copper paint in a job with an aluminium drive, and not a word of keeping them apart."""
    sign = next(((t, w) for t in picture.job.task if (w := found(picture.words(t), ALUMINIUM))), None)
    if sign is None:
        return
    for material in picture.job.material:
        coats = [t for t in picture.ahead if t.material == material.id and picture.family(t) == "antifouling"]
        if not coats or found(f"{material.id} {material.title}. {material.note}", COPPER_FREE):
            continue
        if any(found(picture.all_words(t), ("copper",)) for t in coats):
            continue
        yield Finding(
            f"copper-by-aluminium:{material.id}",
            material.id,
            f"{material.name} is laid near {sign[1]} ({sign[0].id}), and nothing says how copper is kept off it",
            "copper beside aluminium under water eats the aluminium, a drive leg in one season",
            PRACTICE,
            "say in its note that it is copper-free, or how far it stays off and what is masked",
            f'the word "{sign[1]}" in {sign[0].id}; most are aluminium, and most antifouling holds copper',
        )


def coat_over_blush(picture: Picture) -> Iterator[Finding]:
    """A coat on cured epoxy that nobody washed, sanded or peeled."""
    for task, under in _pairs(picture):
        epoxy = picture.chemistry(under.coat) == "epoxy" and picture.family(under.coat) in (
            "resin",
            "filler",
            "barrier",
        )
        if task.finished is not None or not epoxy or picture.windowed(under) or picture.prepared(task, under):
            continue
        if picture.family(task) == "antifouling":
            # That is a finding of its own.
            continue
        yield Finding(
            f"coat-over-blush:{task.id}+{under.coat.id}",
            task.id,
            f"{task.id} goes on the cured epoxy of {under.coat.id}, and nothing says it was washed, peeled or keyed",
            "epoxy cured in damp or cold air sweats a greasy film that the next coat does not stick to",
            "data sheets: amine blush comes with low temperature and high humidity",
            f"lay {under.coat.id} under peel ply, or add a wash (water and a pad) and a keying before {task.id}",
            f"the link {under.coat.id}@{under.stage} and the notes on the way",
        )


def _pairs(picture: Picture) -> Iterator[tuple[Task, Under]]:
    """Every coat with each of the coats next under it."""
    for task in picture.job.task:
        if task.material is not None:
            for under in picture.under(task):
                yield task, under


def _name(picture: Picture, task: Task) -> str:
    stuff = picture.stuff[task.id]
    return stuff.name if stuff is not None else ""


def _below_water(picture: Picture, task: Task) -> bool:
    zone = picture.job.zones.get(task.zone or "")
    if zone is None or aboard(zone) or found(f"{zone.id} {zone.title} {title_of(task)}", DRY_PLACES):
        return False
    return not clauses_with(picture.words(task), ("above",), ("waterline",))
