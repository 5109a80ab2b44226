"""The bundle is what its source makes, and another program finds no fault with the models.

Both need node, npm and a registry or its cache; ``npm ci`` checks every package against the hashes of the
lock.  The validator is the one of the makers of glTF (npm package gltf-validator, for tests only).
"""

from __future__ import annotations

import functools
import json
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

from tests.viewer.page.made_job import made_plan, made_site
from viewer.page.client_page import SCRIPT, PageWish
from viewer.page.written_page import write_page

FOLDER = SCRIPT.parents[1]
PACKED = ("package.json", "package-lock.json", ".npmrc")

VALIDATE = """
const validator = require("gltf-validator");
const fs = require("fs");
const read = (name) => new Uint8Array(fs.readFileSync(name));
Promise.all(process.argv.slice(1).map((name) => validator.validateBytes(read(name))))
  .then((reports) => console.log(JSON.stringify(reports.map((report) => report.issues))));
"""


@functools.cache
def installed() -> Path:
    """A folder of its own with the source and what the lock names; skips where that cannot be had."""
    if shutil.which("npm") is None or shutil.which("node") is None:
        pytest.skip("node and npm are not installed.")
    folder = Path(tempfile.mkdtemp())
    for name in PACKED:
        shutil.copy(FOLDER / name, folder / name)
    shutil.copytree(FOLDER / "source", folder / "source")
    try:
        done = subprocess.run(
            ["npm", "ci", "--prefer-offline"],
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=180,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.skip("npm did not answer in time.")
    if done.returncode:
        assert "EINTEGRITY" not in done.stderr, done.stderr
        pytest.skip("npm cannot install here: no network and nothing in its cache.")
    return folder


@pytest.mark.needs_npm
def test_the_bundle_is_what_the_source_makes() -> None:
    folder = installed()
    subprocess.run(["npm", "run", "build"], cwd=folder, capture_output=True, check=True, timeout=120)
    assert (folder / "built" / "page.js").read_bytes() == SCRIPT.read_bytes()


@pytest.mark.needs_npm
def test_the_validator_finds_no_fault_with_the_models(tmp_path: Path) -> None:
    folder = installed()
    models = write_page(made_plan(), made_site(), PageWish(("en",)), (), tmp_path / "ramp.html").files[1:]
    done = subprocess.run(
        ["node", "-e", VALIDATE, *map(str, models)], cwd=folder, capture_output=True, text=True, check=True
    )
    reports = json.loads(done.stdout)
    assert len(reports) == 3
    assert [(report["numErrors"], report["numWarnings"]) for report in reports] == [(0, 0)] * 3


def test_the_lock_is_hashed_and_names_no_host() -> None:
    lock = json.loads((FOLDER / "package-lock.json").read_text())
    packages = {name: values for name, values in lock["packages"].items() if name}
    assert {"node_modules/three", "node_modules/esbuild", "node_modules/gltf-validator"} <= packages.keys()
    assert all(values["integrity"].startswith("sha512-") for values in packages.values())
    assert "://" not in (FOLDER / "package-lock.json").read_text().replace("https://opencollective", "")


def test_the_bundle_can_stand_inside_a_page() -> None:
    text = SCRIPT.read_text(encoding="ascii")
    assert "</script" not in text.lower()
    assert "<!--" not in text
    assert "SPDX-License-Identifier: MIT" in text
    assert "three.js authors" in (FOLDER / "THREE-LICENSE.txt").read_text(encoding="utf-8").lower()
