"""Every page that the checks and the screenshots go through. Modules named *_pages hold the lists: PAGES."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import tests.browser


@dataclass(frozen=True)
class Shown:
    """One page: a name for its file, whose it is ("" for nobody's) and its address.

    {visits.today} and the like in the address are looked up in what the seed printed. `then` is a script that
    brings the page into the state to be looked at. `status` other than 200: the page says why.
    """

    name: str
    who: str
    path: str
    then: str = ""
    status: int = 200

    def address(self, world: Mapping[str, Any]) -> str:
        def looked_up(match: re.Match[str]) -> str:
            found: Any = world
            for part in match[1].split("."):
                found = found[part]
            return str(found)

        return re.sub(r"\{([\w.-]+)\}", looked_up, self.path)


def every_page() -> list[Shown]:
    names = sorted(found.name for found in pkgutil.iter_modules(tests.browser.__path__))
    modules = [importlib.import_module(f"tests.browser.{name}") for name in names if name.endswith("_pages")]
    return [page for module in modules for page in module.PAGES]
