"""Every sentence of the report, from one catalogue for each language."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources

from ventwright.quantities import NumberStyle

_POINT = re.compile(r"(?<=\d)\.(?=\d)")
LANGUAGES = ("en",)
_ISOLATE, _END_OF_ISOLATE = "\u2068", "\u2069"


class Words:
    """Sentences by key, with places for numbers and names.

    A key that the catalogue lacks becomes the words of the key itself: a new code of the engine
    reads poorly and never stops a report.

    Parameters
    ----------
    sentences
        Key, parts joined by dots, to sentence with places in braces.

    >>> words = Words({"advice.mend": "Mend {what}."})
    >>> words.say("advice.mend", what="the {trap}")
    'Mend the {trap}.'
    >>> words.say("advice.look-here")
    'look here'
    """

    def __init__(self, sentences: Mapping[str, str]) -> None:
        self._sentences = dict(sentences)

    def __contains__(self, key: str) -> bool:
        return key in self._sentences

    def __iter__(self) -> Iterator[str]:
        return iter(self._sentences)

    def say(self, key: str, **values: str) -> str:
        """The sentence of a key; what stands in the values is never read as a place.

        Parameters
        ----------
        key
            Parts joined by dots.
        **values
            Texts by the name of their place.
        """
        sentence = self._sentences.get(key)
        if sentence is None:
            words = key.rpartition(".")[2].replace("-", " ").replace("_", " ")
            return " ".join([words, *(_isolated(v) for v in values.values())])
        return sentence.format_map({name: _isolated(value) for name, value in values.items()})

    def count(self, key: str, count: int, **values: str) -> str:
        """As `say`, with the number in the place `count` and a sentence of its own for one.

        Parameters
        ----------
        key
            Parts joined by dots; `key-one` is taken for one where the catalogue has it.
        count
            How many.
        **values
            Texts by the name of their place.

        >>> Words({"n": "{count} faults", "n-one": "one fault"}).count("n", 1)
        'one fault'
        """
        singular = f"{key}-one"
        chosen = singular if count == 1 and singular in self else key
        return self.say(chosen, count=str(count), **values)


def _isolated(value: str) -> str:
    """A value with right-to-left letters in marks that keep the sentence about it in order."""
    if any(unicodedata.bidirectional(c) in ("R", "AL") for c in value):
        return f"{_ISOLATE}{value}{_END_OF_ISOLATE}"
    return value


@lru_cache(maxsize=16)
def words_of(
    language: str = "en", *more: str, number_style: NumberStyle = NumberStyle.DECIMAL_POINT
) -> Words:
    """The catalogue of a language.

    Parameters
    ----------
    language
        One of `LANGUAGES`.
    *more
        Catalogues read beside it, by the first part of their files' names.
    number_style
        Decimal mark of the numbers in its sentences.

    Raises
    ------
    ValueError
        For any other: a fault of the caller.

    >>> words_of().say("verdict.not met")
    'not met'
    """
    if language not in LANGUAGES:
        raise ValueError(f"no catalogue for language {language!r}; there are {LANGUAGES}")
    sentences: dict[str, str] = {}
    for catalogue in ("words", *more):
        file = resources.files(__package__).joinpath(f"{catalogue}_{language}.toml")
        sentences |= _flat(tomllib.loads(file.read_text("utf-8")), "")
    if number_style is NumberStyle.DECIMAL_COMMA:
        sentences = {key: _POINT.sub(",", text) for key, text in sentences.items()}
    return Words(sentences)


def _flat(mapping: Mapping[str, object], prefix: str) -> Iterator[tuple[str, str]]:
    for key, value in mapping.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", str(value)
