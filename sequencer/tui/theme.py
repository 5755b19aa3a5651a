"""The two themes, and roles turned into styles. Colours live here and nowhere else.

Contrast of every role on paper and on dusk is 4.7 or more by the WCAG formula; pairs met in one lane stay apart
for red-, green- and blue-blind eyes. Nothing depends on colour: each mark has its own sign.
"""

from __future__ import annotations

from rich.style import Style
from textual.theme import Theme

DARK, LIGHT = "shed-dark", "shed-light"
ROLES = ("paper", "dusk", "ink", "pencil", "hull", "resin", "gate", "bell", "water")
_COLOURS = {
    DARK: ("#0F1A20", "#1A2A33", "#F4F1E6", "#A9B3BC", "#7298F2", "#F2CC3A", "#5FF59A", "#FF5C86", "#A1D8F5"),
    LIGHT: ("#FBF7EC", "#EFE8D8", "#101A22", "#505C6A", "#0E3FD0", "#955200", "#1F7350", "#8B0521", "#0F4059"),
}


def role_colours(name: str) -> dict[str, str]:
    """Role to colour for a theme; the dark one's where the theme is not ours."""
    return dict(zip(ROLES, _COLOURS.get(name, _COLOURS[DARK]), strict=True))


def _theme(name: str) -> Theme:
    role = role_colours(name)
    return Theme(
        name=name,
        primary=role["hull"],
        secondary=role["water"],
        accent=role["resin"],
        warning=role["resin"],
        error=role["bell"],
        success=role["gate"],
        foreground=role["ink"],
        background=role["paper"],
        surface=role["dusk"],
        panel=role["dusk"],
        dark=name == DARK,
        variables={
            **role,
            "block-cursor-background": role["ink"],
            "block-cursor-foreground": role["paper"],
            "block-cursor-text-style": "bold reverse",
            "input-cursor-background": role["ink"],
            "input-cursor-foreground": role["paper"],
        },
    )


THEMES = tuple(_theme(name) for name in (DARK, LIGHT))


class Palette:
    """Styles for roles under one theme; each is made once."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._colours = role_colours(name)
        self._made: dict[str, Style] = {}

    def __call__(self, role: str) -> Style:
        """The style of `role`: a colour role and any of bold, reverse, underline, dusk."""
        if role not in self._made:
            words = role.split()
            colour = next((w for w in reversed(words) if w in self._colours and w not in ("paper", "dusk")), "ink")
            ground = "dusk" if "dusk" in words else "paper"
            self._made[role] = Style(
                color=self._colours[colour],
                bgcolor=self._colours[ground],
                bold="bold" in words,
                reverse="reverse" in words,
                underline="underline" in words,
            )
        return self._made[role]
