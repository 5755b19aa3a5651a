"""The cautions of the trade: what to do, why, where that is from, and who has the last word.

Sources as read; "common practice, no source" where none was found, "from memory" where it could not be looked up.
Each gives way to the data sheet, the yard, the local code or the licensed trade it names.
"""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE = "common practice, no source"
SHEET = "Your data sheet has the last word."
YARD = "The yard's rules have the last word."
CODES = "Local codes decide; a licensed trade does or checks it."
RULES = "Your data sheet and the local rules for such spaces have the last word."

SHORT = {SHEET: "data sheet", YARD: "yard", CODES: "local codes, licensed trade", RULES: "data sheet, local rules"}


@dataclass(frozen=True)
class Caution:
    """One caution. title: a sentence that says what to do. why: what happens else. defers: who has the last word."""

    id: str
    title: str
    why: str
    source: str
    defers: str

    @property
    def last_word(self) -> str:
        """Who has the last word, in short: ``data sheet``."""
        return SHORT[self.defers]


def _of(name: str, title: str, why: str, source: str, defers: str) -> tuple[str, Caution]:
    return name, Caution(name, title, why, source, defers)


CATALOGUE: dict[str, Caution] = dict(
    [
        _of(
            "lift",
            "Nobody under her or aboard while she hangs; keep out of the swing.",
            "Slings slip and straps part; the yard's people lift, you watch.",
            "yard and insurer lists",
            YARD,
        ),
        _of(
            "stands",
            "Never move a stand yourself: the yard does. Look at all stands after heavy rain.",
            "Stands only balance her; one shifted at the wrong moment and she falls.",
            "club and insurer lists",
            YARD,
        ),
        _of(
            "heavy",
            "Rated gear for what hangs, nobody below it, fingers out.",
            "A drive or a rudder is heavier than it looks and swings when the last bolt goes.",
            PRACTICE,
            YARD,
        ),
        _of(
            "closed-space",
            "Hatches open and a fan on before you start; somebody within call; out at the first dizziness.",
            "Vapour collects low in a boat. Entry needs 19.5 to 22 % oxygen and vapour under a tenth of what burns.",
            "29 CFR 1915.12",
            RULES,
        ),
        _of(
            "solvent",
            "Solvent about: no flame, sparks, grinder or glowing heater in the same air; rags outside, spread out.",
            "Its vapour is heavier than air and lights far from the tin; acetone flashes at -20 °C.",
            "flash point from memory",
            SHEET,
        ),
        _of(
            "peroxide",
            "Peroxide catalyst: goggles, and never straight into accelerator, it explodes.",
            "A drop in the eye blinds; with accelerator it goes off at once.",
            "safety data sheets",
            SHEET,
        ),
        _of(
            "styrene",
            "Styrene: moving air and a mask with a fresh organic filter.",
            "Over 50 ppm it numbs and harms; you stop smelling it long before.",
            "NIOSH limit 50 ppm, OSHA 100 ppm",
            SHEET,
        ),
        _of(
            "isocyanate",
            "Two-part polyurethane: brush or roll, gloves and eyes; sprayed it takes an air-fed mask.",
            "Isocyanate makes asthma for good, and no filter mask is sure to hold it.",
            "HSE guidance on two-pack spraying",
            SHEET,
        ),
        _of(
            "epoxy",
            "Epoxy: gloves and sleeves, every time; never clean skin with solvent.",
            "Once you react to epoxy you always will.",
            "HSE research report 079",
            SHEET,
        ),
        _of(
            "hot-pot",
            "Mix small pots, pour them out flat, and stand one that smokes outside.",
            "A big batch heats itself, smokes and can catch fire.",
            PRACTICE,
            SHEET,
        ),
        _of(
            "sealant",
            "Sealant: gloves, fresh air, off the skin with a dry rag.",
            "Polyurethane kinds carry isocyanate, and all glue better than they wash off.",
            PRACTICE,
            SHEET,
        ),
        _of(
            "antifouling",
            "Antifouling: gloves, eyes, sheets on the ground; nothing into the drain.",
            "It is made to poison what touches it.",
            "antifouling makers' and regulators' leaflets",
            SHEET,
        ),
        _of(
            "antifouling-dust",
            "Old antifouling: only wet, in overalls, gloves, mask and eyes; collect all of it for the yard's drum.",
            "Dry dust poisons you, the ground and the neighbour's boat.",
            "antifouling makers' and regulators' leaflets",
            YARD,
        ),
        _of(
            "dust",
            "Dust of glass and resin: P3 mask, eyes, sleeves, vacuum on, sheet under it.",
            "Glass dust stays in lungs and skin.",
            "from memory",
            SHEET,
        ),
        _of(
            "green-dust",
            "Be sure it is hard before you sand: a fingernail leaves no mark.",
            "Dust of half-cured resin makes allergic as the wet resin does.",
            "HSE research report 079",
            SHEET,
        ),
        _of(
            "mains",
            "Residual-current breaker on every lead, leads off wet ground.",
            "Mains, wet sanding and a wet yard kill together.",
            PRACTICE,
            CODES,
        ),
        _of(
            "current",
            "High-current DC: main switch off and tagged, rings off, tools taped, fuse close to the battery's post.",
            "A spanner across the posts glows in a second; an unfused cable burns the boat.",
            "ABYC E-11 as quoted: overcurrent device within 7 in of the source; ISO 16315 for electric propulsion",
            CODES,
        ),
        _of(
            "lithium",
            "If they are lithium: the maker's charger and battery guard only, no heat, nothing metal across the posts.",
            "A damaged cell burns without air and can't be put out with water from a can.",
            "ABYC E-13 and ISO 23625",
            CODES,
        ),
        _of(
            "fuel",
            "Fuel and gas: shut and drained by whom the yard names; no spark, an extinguisher at hand.",
            "Vapour lies in the bilge and waits.",
            PRACTICE,
            CODES,
        ),
        _of(
            "heater",
            "Heater: away from solvent and tarps, off when nobody is near, fresh air for any flame.",
            "It lights vapour and cloth, and a flame in a tent makes carbon monoxide and damp.",
            PRACTICE,
            YARD,
        ),
        _of(
            "fitting",
            "Fittings under water: shut and tagged before the lift, watched in the slings.",
            "One left open sinks her where she floats.",
            PRACTICE,
            YARD,
        ),
        _of(
            "height",
            "Ladder tied at the top, one hand for yourself: on stands the deck is a roof.",
            "It is 3 m down onto hard ground, and she must not be rocked.",
            PRACTICE,
            YARD,
        ),
    ]
)
"""By doing (see :mod:`sequencer.cautions.doing`), the gravest first."""
