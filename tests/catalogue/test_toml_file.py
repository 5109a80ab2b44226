import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.errors import InputError
from optimizer.toml_file import KeyPath, _Walker, read_toml

AWKWARD = '''# a comment with = and [brackets]
title = "a # that is no comment"
"quoted key" = 'single \\ quote'
site.owner.name = "dotted"
points = [ # a list over several lines
  [1, 2],
  { x = 1, y.z = "}" }, # an inline table
  """long
text with ] and "" in it""",
]
long = \'\'\'
first
last\'\'\'\'

[plain]
a = 1
  indented = 1979-05-27T07:32:00Z

[[part]]
id = "one"
[part.size]
width = 3
[[part.hole]]
at = 1
[[part.hole]]
at = 2

[[part]]
id = "two"   # comment
[[part.hole]]
at = 9
[a.b.c]
d = -1e3'''


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def key_paths(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    if path:
        yield path
    children = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for key, child in children:
        yield from key_paths(child, (*path, key))


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        (("title",), 2),
        (("quoted key",), 3),
        (("site",), 4),
        (("site", "owner", "name"), 4),
        (("points",), 5),
        (("points", 0), 6),
        (("points", 0, 1), 6),
        (("points", 1, "x"), 7),
        (("points", 1, "y", "z"), 7),
        (("points", 2), 8),
        (("long",), 11),
        (("plain",), 15),
        (("plain", "indented"), 17),
        (("part", 0), 19),
        (("part", 0, "size", "width"), 22),
        (("part", 0, "hole", 0, "at"), 24),
        (("part", 0, "hole", 1, "at"), 26),
        (("part", 1, "id"), 29),
        (("part", 1, "hole", 0, "at"), 31),
        (("a", "b"), 32),
        (("a", "b", "c", "d"), 33),
    ],
)
def test_a_key_is_found_in_its_line_of_an_awkward_file(tmp_path: Path, keys: KeyPath, line: int) -> None:
    assert read_toml(written(tmp_path, AWKWARD)).line(keys) == line


def test_every_key_of_an_awkward_file_has_a_line_of_its_own(tmp_path: Path) -> None:
    file = read_toml(written(tmp_path, AWKWARD))
    assert set(file.lines) == set(key_paths(tomllib.loads(AWKWARD)))


def test_windows_line_ends_and_a_byte_order_mark_do_not_move_lines(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + AWKWARD.replace("\n", "\r\n").encode())
    assert read_toml(path).lines == read_toml(written(tmp_path, AWKWARD)).lines


def test_a_missing_key_is_placed_at_its_owner(tmp_path: Path) -> None:
    file = read_toml(written(tmp_path, AWKWARD))
    assert file.where(("part", 1, "pitch")) == f"{tmp_path / 'site.toml'}:28"
    assert file.where(("nowhere",)).endswith(":1")


texts = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=8)
leaves = st.integers(-99, 99).map(str) | texts.map(
    lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
)


@given(
    st.lists(
        st.tuples(
            st.lists(st.lists(leaves, max_size=3), max_size=3),
            st.dictionaries(st.sampled_from(["x", "y", "a b", "é"]), leaves, max_size=3),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_lines_of_random_files_are_those_the_writer_used(
    tables: list[tuple[list[list[str]], dict[str, str]]],
) -> None:
    rows: list[str] = []
    expected: dict[KeyPath, int] = {}
    for index, (grid, leaf_by_key) in enumerate(tables):
        rows += ["", "[[row]]  # = [ {"]
        expected[("row", index)] = len(rows)
        expected.setdefault(("row",), len(rows))
        for key, leaf in leaf_by_key.items():
            rows.append(f"'{key}' = {leaf}")
            expected[("row", index, key)] = len(rows)
        rows.append("grid = [")
        expected[("row", index, "grid")] = len(rows)
        for i, cells in enumerate(grid):
            rows.append(f" [{', '.join(cells)}], # ]")
            expected[("row", index, "grid", i)] = len(rows)
            expected.update({("row", index, "grid", i, j): len(rows) for j in range(len(cells))})
        rows.append("]")
    text = "\n".join(rows)
    assert set(key_paths(tomllib.loads(text))) == set(expected)
    assert _Walker(text).lines() == expected


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"absent\.toml: there is no such file"):
        read_toml(tmp_path / "absent.toml")


def test_a_folder_in_place_of_a_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_toml(tmp_path)


def test_text_that_is_not_utf8_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_bytes(b'a = 1\nb = "caf\xe9"\n')
    with pytest.raises(InputError, match=r"site\.toml:2: byte 0xe9 is not UTF-8"):
        read_toml(path)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\nb = = 2\nc = 3\n", 2),
        ("a = 1\na = 2\n", 2),
        ("a = 1\n[t\n", 2),
        ('a = 1\nb = "open\n', 2),
        ("a = 1\nb = [1, 2\n", 2),
    ],
)
def test_bad_syntax_is_refused_with_its_line(tmp_path: Path, text: str, line: int) -> None:
    with pytest.raises(InputError, match="this is not TOML") as caught:
        read_toml(written(tmp_path, text))
    assert caught.value.faults[0].where == f"{tmp_path / 'site.toml'}:{line}"
