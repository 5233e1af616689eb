"""What a descale's papers are made from: plain facts, times already local, nothing of the database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from diagnostics.engine.records import Interval

Strokes = tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, slots=True)
class Place:
    """Whose unit it is and where it stands."""

    contractor: str
    customer: str
    site: str
    unit: str
    address: str = ""
    place: str = ""
    exchanger: str = ""
    exchanger_kind: str = ""
    metal: str = ""
    refrigerant: str = ""
    antifreeze: str = "none"
    water_source: str = ""


@dataclass(frozen=True, slots=True)
class Chemical:
    """The cleaner as its sheet has it."""

    name: str
    acids: tuple[str, ...]
    form: str
    protection: tuple[str, ...] = ()
    first_aid: str = ""
    supplier_phone: str = ""
    fresh_colour: str = ""
    disposal: str = ""
    label_on: str = ""
    safety_sheet_on: str = ""
    missing_papers: tuple[str, ...] = ()
    copper_limit_mg_per_l: float | None = None
    iron_limit_mg_per_l: float | None = None


@dataclass(frozen=True, slots=True)
class Dose:
    """One batch: strength [-], solution, water and product [m3, kg], portions [kg]; how many it takes."""

    strength: float
    solution_m3: float
    water_m3: float
    product_kg: float
    product_m3: float | None
    portions_kg: tuple[float, ...]
    batches: tuple[int, int, int] | None = None
    enough: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step, in words; `always` where nobody may leave it open."""

    stage: str
    words: str
    always: bool = False


@dataclass(frozen=True, slots=True)
class Limits:
    """What stops it, and what may go where: cap [K] and why, batch time, route, permit, site's limits."""

    cap_k: float
    cap_because: str
    batch_time: timedelta
    route: str = ""
    permit: str = ""
    discharge: tuple[tuple[str, str], ...] = ()
    against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobSheet:
    """A descale that is planned, for the hand beside the tank."""

    place: Place
    chemical: Chemical
    dose: Dose
    limits: Limits
    plan: str
    address_of_job: str
    starts_at: datetime | None = None
    crew: tuple[str, ...] = ()
    mixed: tuple[tuple[datetime, datetime], ...] = ()
    looks_min: tuple[int, ...] = ()
    kit: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    deposit_kg: Interval | None = None
    neutraliser: str = ""
    neutralise_bath_kg: Interval | None = None
    neutralise_surface_kg: float | None = None
    rinses: int | None = None
    rinse_m3: float | None = None
    waste_m3: float | None = None
    gas_m3: float | None = None
    gas_share: float | None = None
    room: str = ""
    pump: str = ""
    flow_wanted_m3_per_s: float | None = None
    flow_reached_m3_per_s: float | None = None
    sound_level_db: float | None = None
    quiet_hours: str = ""
    treatments: tuple[str, ...] = ()
    emergency_phone: str = ""
    eyewash: str = ""
    safety_notes: str = ""
    balancing_valve: str = ""


@dataclass(frozen=True, slots=True)
class Mixed:
    """A batch as it was mixed: product, lot and expiry, strength [-], in and out."""

    product: str
    lot: str
    expires: str
    strength: float | None
    mixed_at: datetime
    out_at: datetime | None = None
    product_kg: float | None = None
    water_m3: float | None = None


@dataclass(frozen=True, slots=True)
class LetOut:
    """Water that left: what, how much [m3], pH [-], metals and solids [mg/L], where and by whose leave."""

    at: datetime
    water: str
    route: str
    volume_m3: float | None = None
    ph: float | None = None
    copper_mg_per_l: float | None = None
    iron_mg_per_l: float | None = None
    permit: str = ""
    exceedances: tuple[str, ...] = ()
    zinc_mg_per_l: float | None = None
    solids_mg_per_l: float | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """A bath that is kept: where, whose, since when."""

    at: datetime
    water: str
    where: str
    whose: str
    volume_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """Something read before and after, in its unit."""

    name: str
    before: float
    after: float
    unit: str


@dataclass(frozen=True, slots=True)
class Modelled:
    """Before and after by the unit's own model at the same conditions, and the change with its interval."""

    name: str
    before: float
    after: float
    change: Interval
    unit: str


@dataclass(frozen=True, slots=True)
class Proof:
    """Readings after against those before; resistances in m2K/W where `area_m2` is known, else in K/W."""

    before_at: datetime
    after_at: datetime
    improved: str
    unit: str = "K/W"
    before: Interval | None = None
    after: Interval | None = None
    removed: Interval | None = None
    limit: float | None = None
    probability_improved: float | None = None
    probability_below_limit: float | None = None
    lockout_cleared: bool | None = None
    reference: str = ""
    cautions: tuple[str, ...] = ()
    compared: tuple[Compared, ...] = ()
    modelled: tuple[Modelled, ...] = ()
    modelled_at_k: float | None = None
    area_m2: float | None = None


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature drawn on the phone, strokes of points in shares of width and height; none where typed."""

    signs_as: str
    name: str
    at: datetime
    strokes: Strokes


@dataclass(frozen=True, slots=True)
class Certificate:
    """A descale that is done, for the customer."""

    place: Place
    number: str
    started_at: datetime
    ended_at: datetime | None
    called: str
    crew: tuple[str, ...] = ()
    batches: tuple[Mixed, ...] = ()
    seen: tuple[str, ...] = ()
    let_out: tuple[LetOut, ...] = ()
    kept: tuple[Kept, ...] = ()
    proof: Proof | None = None
    rinsed: str = ""
    left_open: tuple[str, ...] = ()
    signatures: tuple[Signature, ...] = ()
    emergency_phone: str = ""
    dissolved_kg: Interval | None = None
    titrated: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True)
class ClientNotice:
    """What the client is told before the work."""

    place: Place
    chemical: str
    starts_at: datetime
    hours_without_cooling: float
    noise: str
    others_affected: str
    sent_to: str = ""
    safety_sheet_on: str = ""
    protection: tuple[str, ...] = ()
    first_aid: str = ""
    asked: str = ""
    contact: str = ""
    number: str = ""
    disposal: str = ""
    emergency_phone: str = ""
