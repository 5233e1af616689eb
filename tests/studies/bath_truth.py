"""A bath with a known truth: its own speciation, dissolution limited by transfer, leaks, noise, missed looks.

Nothing of the engine's is used but the record of a look. Deposit dissolves at k A (m/m0)^p C, where C is the
free acid's power: protons, and undissociated acid that diffuses more slowly. Titration counts whole drops.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.descaling.end_point import Look

STEP_S = 20.0
# pK, molar mass [g/mol], protons that a titration counts: textbook values from memory
ACID_FACTS = {
    "hydrochloric": ((), 36.46, 1),
    "sulfamic": ((1.0,), 97.09, 1),
    "phosphoric": ((2.15, 7.20), 98.0, 1),
    "citric": ((3.13, 4.76, 6.40), 192.12, 3),
    "glycolic": ((3.83,), 76.05, 1),
}
CALCIUM_CARBONATE_G_PER_MOL = 100.09
# limiting conductivities at 25 degC [S cm2/mol]: H+, half of Ca++, an anion of middling speed; from memory
PROTON, HALF_CALCIUM, ANION = 350.0, 59.5, 60.0

# what every second look sees: gas as some 45 mL a minute, solids as half a gram a minute; assumed
HALF_SEEN_GAS_MOL_PER_S, HALF_SEEN_SOLIDS_KG_PER_S = 3e-5, 1e-5


@dataclass(frozen=True)
class Job:
    """One job: its truth and how it is looked at. Strengths by mass [-], kg, m3, m2, s, K."""

    acid: str
    strength: float
    warm_k: float
    volume_m3: float
    tank_m2: float
    deposit_kg: float
    inert_share: float
    half_time_s: float
    patchiness: float
    leak_m3_per_s: float
    leak_from_s: float
    leak_alkalinity_mol_per_l: float
    drop: float
    strength_error: float
    missed: float
    seed: int

    @property
    def protons_mol(self) -> float:
        _, mass, protons = ACID_FACTS[self.acid]
        return self.strength * self.volume_m3 * 1e6 / mass * protons


def hydrogen(acid: str, acid_mol_per_l: float, base_mol_per_l: float, fizzing: bool) -> float:
    """[H+] by bisection of the charge balance, carbon dioxide at one atmosphere while it fizzes."""
    pks = ACID_FACTS[acid][0]
    gas = 10**-7.82 if fizzing else 10**-7.82 * 0.05
    low, high = -10.0, 1.0
    for _ in range(34):
        middle = (low + high) / 2
        h = 10.0**middle
        terms, product = [1.0], 1.0
        for pk in pks:
            product *= 10**-pk / h
            terms.append(product)
        charge = sum(n * t for n, t in enumerate(terms)) / sum(terms) if pks else 1.0
        if h + base_mol_per_l - acid_mol_per_l * charge - gas / h > 0:
            high = middle
        else:
            low = middle
    return 10.0 ** ((low + high) / 2)


class Bath:
    """The tank and the exchanger, stepped through time."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.left_kg = job.deposit_kg * (1 - job.inert_share)
        self.start_kg = max(self.left_kg, 1e-9)
        self.time_s = 0.0
        self.noise = np.random.default_rng(job.seed)
        self.fill()

    def fill(self) -> None:
        """A fresh batch; mixed as well as a person mixes."""
        mass = ACID_FACTS[self.job.acid][1]
        error = 1 + self.noise.normal(0, self.job.strength_error)
        self.volume_l = self.job.volume_m3 * 1000
        self.acid_mol = self.job.strength * error * self.volume_l * 1000 / mass
        self.base_mol = 0.0
        self.gas_mol_per_s = self.solids_kg_per_s = 0.0
        self.fresh_power = self.power()

    def power(self) -> float:
        """What drives dissolution [mol/L]: protons, and acid that still holds them, which is slower."""
        h = hydrogen(self.job.acid, self.acid_mol / self.volume_l, self.base_mol / self.volume_l, True)
        pks = ACID_FACTS[self.job.acid][0]
        held = 0.0
        if pks:
            undissociated = h / (h + 10 ** -pks[0])
            held = self.acid_mol / self.volume_l * undissociated * 0.4
        return min(h, self.acid_mol / self.volume_l) + held

    def relative_power(self) -> float:
        """Against a fresh bath's: below a tenth dissolution has stalled."""
        return self.power() / self.fresh_power

    def run_to(self, time_s: float) -> None:
        while self.time_s < time_s - 1e-6:
            self.step(min(STEP_S, time_s - self.time_s))

    def step(self, dt: float) -> None:
        job = self.job
        rate = self.rate_kg_per_s()
        dissolved = min(rate * dt, self.left_kg)
        self.left_kg -= dissolved
        self.base_mol += 2 * dissolved * 1000 / CALCIUM_CARBONATE_G_PER_MOL
        self.gas_mol_per_s = dissolved / dt * 1000 / CALCIUM_CARBONATE_G_PER_MOL
        self.solids_kg_per_s = dissolved / dt
        if job.leak_m3_per_s and self.time_s >= job.leak_from_s:
            litres = job.leak_m3_per_s * 1000 * dt
            self.volume_l += litres
            self.base_mol += litres * job.leak_alkalinity_mol_per_l
        self.time_s += dt

    def rate_kg_per_s(self) -> float:
        if self.left_kg <= 0:
            return 0.0
        job = self.job
        first = np.log(2) / job.half_time_s * self.start_kg
        share = self.left_kg / self.start_kg
        return float(first * share**job.patchiness * self.relative_power())

    def look(self, batch: int, titrate: bool) -> Look:
        """What a person reads, writes down, and leaves out."""
        noise, job = self.noise, self.job
        h = hydrogen(job.acid, self.acid_mol / self.volume_l, self.base_mol / self.volume_l, True)
        foam = 0.004 * min(self.gas_mol_per_s / 0.002, 1.0)
        rise = (self.volume_l / 1000 - job.volume_m3) / job.tank_m2
        done = 1 - self.left_kg / self.start_kg if job.deposit_kg else 0.0

        def kept(value: float) -> float | None:
            return None if noise.random() < job.missed / 2 else float(value)

        return Look(
            self.time_s,
            batch,
            ph=kept(-np.log10(h) + noise.normal(0, 0.05)),
            strength=self.titrated() if titrate else None,
            conductivity_s_per_m=kept(self.conductivity(h) * (1 + noise.normal(0, 0.02))),
            temperature_k=kept(job.warm_k + noise.normal(0, 0.5)),
            level_m=kept(0.35 + rise + foam * noise.random() + noise.normal(0, 0.003)),
            flow_m3_per_s=kept(4e-4 * (1 + 0.15 * done) * (1 + noise.normal(0, 0.03))),
            bubbles=self.seen(self.gas_mol_per_s, HALF_SEEN_GAS_MOL_PER_S),
            solids=self.seen(self.solids_kg_per_s, HALF_SEEN_SOLIDS_KG_PER_S),
        )

    def seen(self, rate: float, half: float) -> bool:
        """Every second time at the rate `half`, nearly always at twice it, imagined once in two hundred."""
        chance = 1 / (1 + (half / rate) ** 3) if rate > 0 else 0.0
        return bool(self.noise.random() < max(chance, 0.005))

    def titrated(self) -> float:
        _, mass, protons = ACID_FACTS[self.job.acid]
        free = max(self.acid_mol * protons - self.base_mol, 0.0)
        strength = free / protons * mass / (self.volume_l * 1000)
        read = strength * (1 + self.noise.normal(0, 0.02))
        return float(max(np.ceil(read / self.job.drop - self.noise.random() * 0.3), 0) * self.job.drop)

    def conductivity(self, h: float) -> float:
        moles = self.acid_mol / self.volume_l
        charge = min(h + self.base_mol / self.volume_l, moles * 3)
        mobile = h * PROTON + self.base_mol / self.volume_l * HALF_CALCIUM + charge * ANION
        return 0.1 * mobile / (1 + 0.4 * np.sqrt(charge))


def draw_jobs(seed: int, count: int) -> list[Job]:
    """Jobs of every acid: three fifths with scale, a quarter without any, the rest with scale and a leak."""
    noise = np.random.default_rng(seed)
    return [_job(noise, seed * 100_003 + number) for number in range(count)]


USUAL = {"hydrochloric": 0.10, "sulfamic": 0.10, "phosphoric": 0.05, "citric": 0.04, "glycolic": 0.04}


def _job(noise: np.random.Generator, seed: int) -> Job:
    acid = str(noise.choice(list(USUAL)))
    strong = acid in ("hydrochloric", "sulfamic")
    volume = float(noise.uniform(0.02, 0.08))
    kind = noise.random()
    with_scale, leaking = kind >= 0.25, kind >= 0.85
    _, mass, protons = ACID_FACTS[acid]
    capacity = USUAL[acid] * volume * 1e6 / mass * protons / 2 * CALCIUM_CARBONATE_G_PER_MOL / 1e3
    half = noise.uniform(480, 1800) if strong else noise.uniform(1200, 4200)
    return Job(
        acid=acid,
        strength=USUAL[acid],
        warm_k=float(noise.uniform(288, 305) if strong else noise.uniform(298, 325)),
        volume_m3=volume,
        tank_m2=float(noise.uniform(0.08, 0.25)),
        deposit_kg=float(capacity * np.exp(noise.uniform(np.log(0.15), np.log(1.6)))) if with_scale else 0.0,
        inert_share=float(noise.uniform(0.0, 0.15)),
        half_time_s=float(half),
        patchiness=float(noise.uniform(0.5, 1.0)),
        leak_m3_per_s=float(np.exp(noise.uniform(np.log(1e-6), np.log(2e-5)))) if leaking else 0.0,
        leak_from_s=float(noise.choice([0.0, 900.0, 2400.0])),
        leak_alkalinity_mol_per_l=float(noise.uniform(0.001, 0.006)),
        drop=USUAL[acid] / 20,
        strength_error=0.03,
        missed=float(noise.uniform(0.0, 0.15)),
        seed=seed,
    )
