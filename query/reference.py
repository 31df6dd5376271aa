"""The manual of the language, made from the grammar and the forms.

`python -m knockon.query.reference` writes LANGUAGE.md anew; a test says when it is out of date.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from typing import Final

from .forms import FORMS
from .grammar import NAMES, keyword, reserved
from .quantities import unit_table
from .reading import MOST_WORDS
from .syntax import MEASURES
from .terms import FLOORS, WORK

MANUAL_FILE: Final = Path(__file__).with_name("LANGUAGE.md")

_INTRO: Final = """\
# The sentences of the parts desk

<!-- Made by `python -m knockon.query.reference` from the grammar. Do not edit. -->

One sentence asks one question. Upper or lower case, line breaks and the final `?` make no
difference. `#` at the start of a word opens a comment to the end of the line.

**Names** are what people say: a part number, a label or any of its synonyms, UK or US, singular or
plural, with or without hyphens and articles. A name runs up to a comma or to one of the reserved
words below; one that has such a word in it goes in quotes, as in `"hub with bearing"` (a quotation
mark inside is written twice). A name that means several things is never guessed at: the answer
lists them and says what tells them apart. “its rear hub” is the part that is on the car now;
“station rear hub” and “part rear hub” say which of two is meant.
"""


def manual() -> str:
    """The whole manual as Markdown."""
    sections = [_INTRO, _reserved(), _forms(), _terms(), _amounts(), _grammar(), _limits()]
    return "\n".join(sections)


def _reserved() -> str:
    words = ", ".join(f"`{word}`" for word in sorted(reserved()))
    return f"**Reserved words**: {words}, and the other spellings `into`, `onto` and `need`.\n"


def _forms() -> str:
    lines = ["## What can be asked\n"]
    for form in FORMS:
        lines.append(f"- {form.asks[0].upper()}{form.asks[1:]}:")
        lines += ["", "  ```text", *(f"  {example}" for example in form.examples), "  ```"]
    return "\n".join(lines) + "\n"


def _terms() -> str:
    return f"""\
## Terms

Terms follow the car, in any order, joined by a comma, “and” or nothing. All of them hold at once.

| say | meaning |
| --- | --- |
| `keeping NAME, NAME and NAME` | these stations stay as they are; “the wheels” means all of them |
| `with at most 500 EUR` | the parts cost no more |
| `with at most 10 hours` | the work takes no longer |
| `with at most 15-inch wheels` | no larger wheels |
| `with no WORK` | none of this work: {_ticked(WORK)} |
| `with nothing weaker than STANDING` | proof counts from this standing up: {_ticked(FLOORS)} |
| `using stock`, `using donor CAR`, `using new parts` | parts come from here only; several add up |
| `without PART` | not with this part or family |
| `without parts from NAME`, `unless from NAME` | not by this maker, or on this source's word |

What is left out is not insisted on. A limit may be said once. What can be worked out: \
{_ticked(MEASURES)}.
"""


def _amounts() -> str:
    rows = "\n".join(
        f"| {dimension} | {_ticked(names)} |" for dimension, names in unit_table().items()
    )
    return f"""\
## Amounts

A number with a point (never a comma), a fraction (`3/8 in`) or both (`1 3/8 in`), and a unit.

| of | units |
| --- | --- |
{rows}
"""


def _grammar() -> str:
    """The rules of the grammar, with each keyword as it is written."""
    source = files(__package__).joinpath("grammar.lark").read_text(encoding="utf-8")
    rules, _, _ = source.partition("-- words")
    lines = [line for line in rules.splitlines() if line.strip() and not line.startswith("//")]
    text = re.sub(r"\s*->\s*\w+", "", "\n".join(lines))
    text = text.replace("_COMMA", '","').replace("_JOIN?", '("," | "and")?')
    text = re.sub(r"\b_[A-Z][A-Z_]*\b", lambda found: f'"{keyword(found[0])}"', text)
    text = re.sub(r"\b_(?=[a-z])", "", text)
    text = re.sub(r"^([\w{}]+): +", lambda found: f"{found[1] + ':':<14}", text, flags=re.M)
    text = re.sub(r"^ +(?=\|)", " " * 12, text, flags=re.M)
    places = "\n".join(
        f"- `{rule}`: {kind.place}" for rule, kind in NAMES.items() if kind.place != "a name"
    )
    return f"""\
## Grammar

`?` may be left out, `*` any number of times, `|` or. `NAME`, `QUOTED` and `FEATURE` are names,
`AMOUNT` and `QUANTITY` numbers with units, `NUMBER` and `DATE` plain ones.

```text
{text}
```

What stands for what:

{places}
"""


def _limits() -> str:
    return f"""\
## Limits

A sentence has at most 64 kB and {MOST_WORDS} words and marks, a name at most 200 characters.
Nothing nests.
"""


def _ticked(words: tuple[str, ...]) -> str:
    return ", ".join(f"`{word}`" for word in words)


if __name__ == "__main__":
    MANUAL_FILE.write_text(manual(), encoding="utf-8")
