"""Find catalogue and rates files: the demo ones by id, others by path.

Demo parts, sizes and prices are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError

_FOLDER: Final = Path(__file__).parent / "demo"
_CATALOGUES: Final = (
    ("demo-inch", "inch.toml"),
    ("demo-millimetre", "millimetre.toml"),
    ("demo-gap", "gap.toml"),
)
_RATES: Final = (("demo-rates-usd", "rates-usd.toml"), ("demo-rates-eur", "rates-eur.toml"))

DEMO_CATALOGUES: Final = tuple(name for name, _ in _CATALOGUES)
DEMO_RATES: Final = tuple(name for name, _ in _RATES)


def demo_catalogue_path(demo_id: str) -> Path:
    """File of a demo catalogue; raises ``InputError`` for an unknown id."""
    return _demo_path(demo_id, _CATALOGUES, "demo catalogue", demo_id)


def demo_rates_path(demo_id: str) -> Path:
    """File of demo rates; raises ``InputError`` for an unknown id."""
    return _demo_path(demo_id, _RATES, "demo rates", demo_id)


def find_catalogue(name_or_path: str, base: Path, where: str = "catalogue") -> Path:
    """File of the catalogue a site names: a demo id, or a path from ``base``, the site file's folder.

    ``where`` places the fault (``site.toml:4``) when there is no such file.
    """
    return _find(name_or_path, base, _CATALOGUES, "catalogue", where)


def find_rates(name_or_path: str, base: Path, where: str = "rates") -> Path:
    """As ``find_catalogue``, for rates."""
    return _find(name_or_path, base, _RATES, "rates", where)


def _demo_path(demo_id: str, known: tuple[tuple[str, str], ...], kind: str, where: str) -> Path:
    for name, file_name in known:
        if name == demo_id:
            return _FOLDER / file_name
    raise InputError(
        Fault(where, f'"{demo_id}" is no {kind}.', f"Use one of: {', '.join(name for name, _ in known)}.")
    )


def _find(name_or_path: str, base: Path, known: tuple[tuple[str, str], ...], kind: str, where: str) -> Path:
    for name, file_name in known:
        if name == name_or_path:
            return _FOLDER / file_name
    path = base / name_or_path
    if not path.is_file():
        raise InputError(
            Fault(
                where,
                f'{kind} = "{name_or_path}" names no file in {base}.',
                f"Name a file by its path from there, or one of: {', '.join(name for name, _ in known)}.",
            )
        )
    return path
