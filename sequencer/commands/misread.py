"""What was typed and not understood, in our words: what the argument parser says of it, said as a sentence."""

from __future__ import annotations

import re

from sequencer.errors import Fault, UsageError, one_line

LONGEST = 200
"""Letters of a sentence, for it may hold whatever was typed."""

CHOICE = r"argument (?P<name>.+?): invalid choice: (?P<what>.+) \(choose from (?P<these>.+)\)"
"""What the parser says of a word that is none of those it may be."""

SAID = (
    (CHOICE, r"\g<name> can't be \g<what>"),
    (r"argument (?P<name>.+?): expected .*", r"\g<name> wants a value after it"),
    (
        r"argument (?P<name>.+?): ignored explicit argument (?P<what>.+)",
        r"\g<name> takes no value, and \g<what> is one",
    ),
    (r"argument (?P<name>.+?): not allowed with argument (?P<what>.+)", r"\g<name> and \g<what> don't go together"),
    (r"argument (?P<rest>.+)", r"\g<rest>"),
    (r"the following arguments are required: (?P<what>.+)", r"missing: \g<what>"),
    (r"unrecognized arguments: (?P<what>.+)", r"not understood: \g<what>"),
    (r"ambiguous option: (?P<what>.+?) could match (?P<these>.+)", r"\g<what> could be any of \g<these>"),
)
"""The parser's sentences (argparse, the standard library) and ours, the first that fits."""


def usage_fault(message: str, command: str) -> UsageError:
    """The fault for what the parser found wrong. command: the words whose help tells more."""
    hint = f'try "{command} --help"'
    for pattern, ours in SAID:
        found = re.fullmatch(pattern, message, re.DOTALL)
        if found is not None:
            if pattern == CHOICE:
                hint = f"it is one of {found['these'].replace(chr(39), '')}"
            return UsageError([Fault("", one_line(found.expand(ours), LONGEST), hint)])
    return UsageError([Fault("", one_line(message, LONGEST), hint)])


def no_command(word: str, commands: tuple[str, ...]) -> UsageError:
    """The fault for a first word that is neither a command nor a file."""
    from sequencer.job.wording import nearest

    near = nearest(word, commands)
    hint = f"did you mean {near}?" if near is not None else 'try "sequencer --help"'
    return UsageError([Fault("", f"there is no command and no job {one_line(word, 100)}", hint)])
