"""Read a TOML file and tell the line of any key in it.

``tomllib`` gives values without places.  A fault must say ``file:line``, so the text, once
``tomllib`` has accepted it, is walked a second time only to note where each key path
starts.  A key path is a tuple of keys and list positions: ``("section", 2, "pitch")``.
"""

from __future__ import annotations

import bisect
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError, InternalError

KeyPath = tuple[str | int, ...]

_ERROR_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_BARE_VALUE_END: Final = frozenset(",]}#\n")


@dataclass(frozen=True, slots=True)
class TomlFile:
    """One file as read: ``values`` as ``tomllib`` gives them, ``lines`` by key path."""

    path: Path
    values: Mapping[str, object]
    lines: Mapping[KeyPath, int]

    def line(self, keys: KeyPath) -> int:
        """Line (from 1) where ``keys`` is written; of its nearest owner when it is not there."""
        for end in range(len(keys), 0, -1):
            if keys[:end] in self.lines:
                return self.lines[keys[:end]]
        return 1

    def where(self, keys: KeyPath) -> str:
        """``file:line`` of ``keys``."""
        return f"{self.path}:{self.line(keys)}"

    def fault(self, keys: KeyPath, what: str, remedy: str) -> Fault:
        """A fault placed at ``keys``."""
        return Fault(self.where(keys), what, remedy)


def read_toml(path: Path) -> TomlFile:
    """Read a TOML file.  Raises ``InputError``: missing, unreadable, not UTF-8, bad syntax."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise InputError(
            Fault(str(path), "there is no such file.", "Check the name and the folder.")
        ) from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputError(
            Fault(str(path), f"the file cannot be read ({reason}).", "Name a file that may be read.")
        ) from None
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(
            Fault(
                f"{path}:{line}",
                f"byte 0x{content[error.start]:02x} is not UTF-8 text.",
                "Save the file as UTF-8.",
            )
        ) from None
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(_syntax_fault(path, text, str(error))) from None
    return TomlFile(path, values, _Walker(text).lines())


def _syntax_fault(path: Path, text: str, message: str) -> Fault:
    place = _ERROR_PLACE.search(message)
    line = text.rstrip("\n").count("\n") + 1
    if place is not None:
        message = message[: place.start()]
        line = int(place["line"] or line)
    return Fault(
        f"{path}:{line}",
        f"this is not TOML: {message[:1].lower()}{message[1:]}.",
        'Write key = value, texts in "quotes", tables as [name] or [[name]].',
    )


class _Walker:
    """One pass over text that is known to be valid TOML, noting the line of every key path."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._line_ends = [end.start() for end in re.finditer("\n", text)]
        self._lines: dict[KeyPath, int] = {}
        self._lengths: dict[KeyPath, int] = {}  # how many [[...]] of each path were met

    def lines(self) -> dict[KeyPath, int]:
        """Line from 1 by key path."""
        table: KeyPath = ()
        self._skip_blank()
        while self._at < len(self._text):
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip_blank()
        return self._lines

    def _note(self, path: KeyPath) -> None:
        line = bisect.bisect_left(self._line_ends, self._at) + 1
        for end in range(1, len(path) + 1):
            self._lines.setdefault(path[:end], line)

    def _skip_blank(self) -> None:
        """Pass spaces, line ends and comments."""
        while self._at < len(self._text):
            char = self._text[self._at]
            if char == "#":
                end = self._text.find("\n", self._at)
                self._at = len(self._text) if end < 0 else end
            elif char in " \t\n":
                self._at += 1
            else:
                return

    def _key(self) -> tuple[str, ...]:
        """A dotted key; ends before the ``=`` or ``]`` that follows it."""
        start = self._at
        while self._text[self._at] not in "=]":
            if self._text[self._at] in "\"'":
                self._string()
            else:
                self._at += 1
        keys: list[str] = []
        node: object = tomllib.loads(f"{self._text[start : self._at]} = 0")
        while isinstance(node, dict):
            key, node = next(iter(node.items()))
            keys.append(key)
        return tuple(keys)

    def _header(self) -> KeyPath:
        """``[a.b]`` or ``[[a.b]]``; returns the path of the table that is now open."""
        is_list = self._text.startswith("[[", self._at)
        self._at += 2 if is_list else 1
        keys = self._key()
        path: KeyPath = ()
        for key in keys[:-1]:
            path = (*path, key)
            if path in self._lengths:  # a table under the latest [[...]] of that name
                path = (*path, self._lengths[path] - 1)
        path = (*path, keys[-1])
        if is_list:
            count = self._lengths.get(path, 0)
            self._lengths[path] = count + 1
            path = (*path, count)
        self._note(path)
        self._at += 2 if is_list else 1
        return path

    def _pair(self, table: KeyPath) -> None:
        """``key = value``."""
        start = self._at
        path = (*table, *self._key())
        after_key, self._at = self._at, start
        self._note(path)
        self._at = after_key + 1  # past the =
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        self._skip_blank()
        char = self._text[self._at]
        if char in "\"'":
            self._string()
        elif char == "[":
            self._list(path)
        elif char == "{":
            self._inline_table(path)
        else:
            while self._at < len(self._text) and self._text[self._at] not in _BARE_VALUE_END:
                self._at += 1

    def _list(self, path: KeyPath) -> None:
        self._at += 1
        position = 0
        while True:
            self._skip_blank()
            if self._text[self._at] == "]":
                self._at += 1
                return
            self._note((*path, position))
            self._value((*path, position))
            position += 1
            self._skip_blank()
            if self._text[self._at] == ",":
                self._at += 1

    def _inline_table(self, path: KeyPath) -> None:
        self._at += 1
        while True:
            self._skip_blank()
            if self._text[self._at] == "}":
                self._at += 1
                return
            self._pair(path)
            self._skip_blank()
            if self._text[self._at] == ",":
                self._at += 1

    def _string(self) -> None:
        """Pass one text of any of the four kinds."""
        quote = self._text[self._at]
        mark = quote * 3 if self._text.startswith(quote * 3, self._at) else quote
        self._at += len(mark)
        while not self._text.startswith(mark, self._at):
            if self._at >= len(self._text):
                raise InternalError("the line walker lost its place in a file that tomllib accepts")
            self._at += 2 if quote == '"' and self._text[self._at] == "\\" else 1
        self._at += len(mark)
        while len(mark) == 3 and self._text.startswith(quote, self._at):
            self._at += 1  # a long text may end in one or two quotes of its own
