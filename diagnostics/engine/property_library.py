"""CoolProp, loaded when something of it is first asked for.

Loading it parses all of its fluids, more than a second of processor time. Of a page, a command or a test that
computes nothing nobody should wait for that; workers load it before they fork (`load`).
"""

from __future__ import annotations

from typing import Any


def __getattr__(name: str) -> Any:
    if name.startswith("__"):  # what the import system and inspection ask every module for
        raise AttributeError(name)
    import CoolProp.CoolProp as coolprop

    return getattr(coolprop, name)


def load(**_: Any) -> None:
    """Load it now."""
    import CoolProp.CoolProp  # noqa: F401
