"""The pressure-temperature tables that come along on a phone, one small file a refrigerant.

`python -m contractor.web.technician.saturation` writes them anew from the engine; a test holds that they
agree. Between two rows 1/T is taken as straight over ln p, which is what the phone's script does.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent.parent / "static" / "web" / "saturation"
STEP_K = 2.0


def file_of(refrigerant: str) -> str:
    """R1234ze(E) is in R1234zeE.json."""
    return f"web/saturation/{re.sub(r'[^A-Za-z0-9]', '', refrigerant)}.json"


def table_of(name: str) -> dict[str, Any]:
    """Bubble and dew pressure over temperature, from -40 degC to 2 K below critical."""
    import numpy as np

    from diagnostics.engine.refrigerants import refrigerant  # loads the property library: not before needed

    fluid = refrigerant(name)
    low, high = fluid.minimum_temperature_k, fluid.maximum_temperature_k
    rows = np.linspace(low, high, int((high - low) / STEP_K) + 2)
    return {
        "refrigerant": fluid.name,
        "temperature_k": [round(float(t), 4) for t in rows],
        "bubble_pa": [round(float(p)) for p in fluid.bubble_pressure_pa(rows)],
        "dew_pa": [round(float(p)) for p in fluid.dew_pressure_pa(rows)],
    }


def main() -> None:
    from diagnostics.engine.refrigerants import REFRIGERANTS

    FOLDER.mkdir(exist_ok=True)
    for name in REFRIGERANTS:
        path = FOLDER / Path(file_of(name)).name
        path.write_text(json.dumps(table_of(name), separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
