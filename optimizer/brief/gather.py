"""Collect the faults of several readings, so that a person hears of all of them at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import ParamSpec, TypeVar

from optimizer.errors import Fault, InputError

P = ParamSpec("P")
T = TypeVar("T")


class FaultList:
    """Faults so far, in the order they were met."""

    def __init__(self) -> None:
        self._faults: list[Fault] = []

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All of them."""
        return tuple(self._faults)

    def add(self, faults: Iterable[Fault]) -> None:
        """Note faults that were returned rather than raised."""
        self._faults.extend(faults)

    def attempt(self, read: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T | None:
        """What ``read`` returns, or ``None`` when it raised ``InputError`` (its faults are kept)."""
        try:
            return read(*args, **kwargs)
        except InputError as error:
            self._faults.extend(error.faults)
            return None

    def raise_any(self) -> None:
        """Raise ``InputError`` with every fault so far, if there is one."""
        if self._faults:
            raise InputError(*self._faults)

    def sound(self, value: T | None) -> T:
        """What an attempt returned; raises ``InputError`` when any attempt so far has failed."""
        self.raise_any()
        if value is None:
            raise InputError(*self._faults)
        return value
