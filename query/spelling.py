"""What counts as the same name: whatever its case, hyphens, plural or UK or US spelling."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Final

_ARTICLES: Final = {"the", "a", "an", "its", "my"}
_INCHES = re.compile(r"(?<=\d)\s*-?\s*(?:\"|''|″|inches\b|inch\b|in\b)")
_SPELT: Final = {
    "aluminum": "aluminium",
    "caliper": "calliper",
    "center": "centre",
    "color": "colour",
    "gage": "gauge",
    "gray": "grey",
    "meter": "metre",
    "mold": "mould",
    "tire": "tyre",
}
_KEEP_S: Final = ("ss", "us", "is")


@lru_cache(maxsize=1024)
def words_of(phrase: str) -> tuple[str, ...]:
    """The words of a phrase in one spelling, singular, without its article.

    >>> words_of("the Calipers")
    ('calliper',)
    >>> words_of('15" half-shafts')
    ('15inch', 'half', 'shaft')
    """
    plain = unicodedata.normalize("NFKC", phrase).casefold()
    plain = re.sub("['’]", "", _INCHES.sub("inch ", plain))
    words = re.sub(r"[^\w.+/]+|_", " ", plain).split()
    if len(words) > 1 and words[0] in _ARTICLES:
        words = words[1:]
    return tuple(filter(None, (_one_spelling(word.strip(".")) for word in words)))


@lru_cache(maxsize=65_536)
def key_of(phrase: str) -> str:
    """The key that two phrases share if they are the same name.

    >>> key_of("Half Shaft") == key_of("the half-shafts") == key_of("halfshaft")
    True
    """
    return "".join(words_of(phrase))


def number_key(number: str) -> str:
    """The key of a part number: its letters and digits.

    >>> number_key("ow 42310")
    'OW42310'
    """
    return re.sub(r"[^0-9A-Z]", "", unicodedata.normalize("NFKC", number).upper())


def is_possessive(phrase: str) -> bool:
    """Whether the phrase means what is on the car now: “its rear hub”."""
    return phrase.casefold().startswith("its ")


def _one_spelling(word: str) -> str:
    if len(word) > 3 and word.isalpha():
        word = _singular(word)
    return _SPELT.get(word, word)


def _singular(word: str) -> str:
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "sses", "zes")):
        return word[:-2]
    if word.endswith("s") and not word.endswith(_KEEP_S):
        return word[:-1]
    return word
