"""The texts of the client's page, from one small table with a column a language."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Literal

from optimizer.errors import InternalError

Language = Literal["en", "es"]
LANGUAGES: Final[tuple[Language, ...]] = ("en", "es")
TABLE: Final = Path(__file__).with_name("words.toml")


@dataclass(frozen=True, slots=True)
class Words:
    """All texts in one language: pairs of key and text, ``{}`` where a number or a name goes."""

    language: Language
    texts: tuple[tuple[str, str], ...]

    def say(self, key: str, value: str = "") -> str:
        """The text of a key with ``value`` in its place; raises InternalError for a key that is not there."""
        for known, text in self.texts:
            if known == key:
                return text.replace("{}", value)
        raise InternalError(f"the client's page has no text {key!r} in {self.language!r}")


@cache
def read_words(language: Language) -> Words:
    """The texts of one language."""
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    return Words(language, tuple((key, str(row[language])) for key, row in table.items()))
