"""No address of a package registry and no path of anybody's machine in any file."""

import re

from tests.tree import texts

# written in parts, so that this file is not its own finding
REGISTRIES = [
    "py" + "pi.org", "python" + "hosted.org", "npm" + "js.org", "deb" + "ian.org", "rubygems" + ".org",
    "crates" + ".io", "docker" + ".io/", "ghcr" + ".io",
]  # fmt: skip
MACHINE_PATHS = re.compile(r"(?<![\w.])/(?:work|root|home|Users)/[\w.]")


def test_no_file_names_a_package_registry() -> None:
    found = [(str(path), one) for path, text in texts().items() for one in REGISTRIES if one in text]
    assert found == []


def test_no_file_names_a_path_of_somebodys_machine() -> None:
    found = [(str(path), hit[0]) for path, text in texts().items() if (hit := MACHINE_PATHS.search(text))]
    assert found == []


def test_the_search_would_find_them() -> None:
    assert MACHINE_PATHS.search("see /ho" + "me/someone/file") and not MACHINE_PATHS.search("a/work/item")
