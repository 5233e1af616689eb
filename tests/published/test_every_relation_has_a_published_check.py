"""Every relation has a check against an outside source, a unit on every number, a reference and an example.

A relation is every public function, and every public method of a class, in a module of `diagnostics.engine`
that is not named in `NOT_RELATIONS`. A new module counts as relations until someone writes there why it does
not: it holds records, words, or the order in which relations are applied, and has tests of its own elsewhere.
A test marked with `published` (see `sources`) is what counts as a check.
"""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest
from numpydoc.docscrape import FunctionDoc

import diagnostics.engine
import tests.published
from tests.published.sources import CHECKS, name_of

NOT_RELATIONS = {
    "entries": "orchestration: entries and readings that can't be, set aside and said",
    "ports": "orchestration: a drop less what isn't the exchanger's; `pressure_of_height_pa` is checked",
    "fan": "orchestration: a power without its fan, in words; `balance.less_fan` is checked",
    "commas": "how a file's number is refused, in words",
    "spellings": "names of units: facts, not relations",
    "errors": "range checks and their errors",
    "records": "frozen records of what goes in and comes out",
    "wording": "sentences for people",
    "per_cent": "how sentences write shares and probabilities",
    "refrigerants.catalogue": "names, safety classes and compositions: facts, not relations",
    "refrigerants.tables": "asks the property library; its numbers are checked through Refrigerant",
    "refrigerants.splines": "interpolates those tables; checked through Refrigerant",
    "limits": "orchestration: which of three limits holds, in words",
    "causes.names": "names of causes, remedies, checks and their cautions",
    "causes.machines": "names and words by kind of machine: facts, not relations",
    "causes.priors": "stated priors by water source: facts, common practice",
    "causes.evidence": "stated probabilities of findings by cause: facts, common practice",
    "causes.residuals": "orchestration: a reading set as quantities with their errors",
    "causes.signatures": "orchestration: the virtual unit asked for every cause; its directions are checked",
    "causes.seen": "orchestration: residuals against the clean unit",
    "causes.blunders": "orchestration: wrong readings and records as hypotheses",
    "causes.weighing": "orchestration: priors, findings and likelihoods put together",
    "causes.ranking": "orchestration: from facts to the answer",
    "causes.loop": "orchestration: the short rows of a loop weighed together",
    "causes.checking": "orchestration: the next check chosen",
    "causes.chemical": "the order of checks before chemical work, in words",
    "causes.sizes": "orchestration: a size by what was printed or read where none is on record",
    "causes.steps": "the next step in words; what it may never say is tested for random rankings",
    "causes.printed": "orchestration: a maker's rows against the clean unit",
    "causes.reasons": "sentences for people",
    "causes.background.told": "a sentence for people",
    "causes.keeping": "files of signatures that were solved before",
    "causes.shapes": "frozen records of signatures",
    "causes.explaining": "the answer put together in words",
    "descaling.cleaners": "generic cleaner sheets: facts, judged by the table of metals",
    "descaling.choice": "orchestration: sheets judged for a situation by relations checked elsewhere",
    "descaling.gates": "what stands before acid, in words; its tests are of the choice",
    "descaling.end_point": "orchestration: a log judged by trends that are checked in `descaling.series`",
    "removal": "orchestration: two visits judged together",
    "amps": "orchestration: heat over power, which is checked, asked backwards over clean visits",
    "bench": "records of what reading sets are seen through, and instruments' errors listed",
    "channels": "orchestration: which of the refrigerant's channels was read, which stood in for",
    "advice": "sentences and choices: what would help most",
    "earning": "sentences for people: why a verdict is not earned; its tests are of the answer",
    "judged": "frozen record of what the answer is made of",
    "answer": "orchestration: the answer put together from the draws",
    "gathering": "orchestration: the evidence of a unit's history, gathered and sifted",
    "observation": "records of one set seen through its channels",
    "surface": "the zones' relations strung together; checked through the zones and the round trip",
    "flow_combining": "orchestration: flow sources compared and combined; z test and mean are checked",
    "refrigerant_side": "orchestration: states turned into heat and volume by relations of `balance`",
    "valve_leak": "orchestration: a leak as an explanation, in words; `balance.heat_past_leak` is checked",
    "suspects": "orchestration: readings left out one at a time by `balance.leave_one_out`, in words",
    "flow_meaning": "sentences for people",
    "flow_sources": "orchestration: every way to tell the flow, compared and combined",
    "uncertainty.instrument_table": "a table of defaults with overrides",
    "property_library": "loads the property library when it is first needed",
    "version": "the engine's version",
    "assessment": "orchestration: one reading set from facts to answer",
    "both_modes": "orchestration: two modes of one day compared by the z test",
    "clean_sets": "orchestration: the sets of one clean visit judged together",
    "hunting": "orchestration: the mean of three swinging sets",
    "detectability": "orchestration: one assessment asked for its smallest call, in words",
    "smallest_call": "what would be called, in figures of `fouling.smallest_called_fouled` and words",
    "gate": "what the gates found, and words they share",
    "refrigerant_gates": "orchestration: gates on the refrigerant's readings",
    "gates": "orchestration: what is asked before any number, and in which words it is refused",
    "power_gate": "what is asked of compressor power against the heat of the water, and in which words",
    "why_undecided": "sentences for people: the rule of `fouling.verdict` told in words",
    "evidence": "orchestration: which readings are linked to which unknowns",
    "inference": "orchestration: the linked problem drawn and summed up",
    "observe": "orchestration: a reading set turned into what was seen, with its errors",
    "habits": "orchestration: what the unit usually shows",
    "references": "orchestration: which clean references a reading set may use",
    "unknowns": "book-keeping: names and places of the unknowns",
    "tables": "orchestration: a maker's operating table turned into what was seen",
    "forward.cases": "draws cases for studies",
    "forward.instruments": "draws instrument errors for studies",
    "forward.truth": "frozen records of a known truth",
    "forward.units": "draws units for studies and demo",
    "virtual_unit.balance": "orchestration: the four equations together, checked through the whole machine",
    "virtual_unit.batch": "book-keeping: machines side by side",
    "virtual_unit.cycle": "orchestration: states around the circuit; checked through the whole machine",
    "virtual_unit.design": "frozen record of what a machine is sized for",
    "virtual_unit.drawing": "draws machines, conditions and faults for studies",
    "virtual_unit.faults": "frozen record of what is wrong, and three severities of each cause",
    "virtual_unit.newton": "numerics: damped Newton on the four equations",
    "virtual_unit.rating": "orchestration: a design sized and charged",
    "virtual_unit.readings": "a state in the records' words",
    "virtual_unit.result": "a state picked from the solution",
    "virtual_unit.sizing": "orchestration: each part sized for the design",
    "virtual_unit.solver": "orchestration: start, Newton, continuation",
    "virtual_unit.streams": "book-keeping: which stream meets which exchanger",
    "virtual_unit.table": "a maker's table printed from solved states",
    "virtual_unit.unit": "frozen records of machine, conditions and state",
}
"""Modules of the engine (or `module.function`) without relations, and why."""

FEWEST_SOURCES = 10
_UNIT = re.compile(r"\[[^\]\n]+\]")
_NUMBER = re.compile(r"\b(float|int|array|ndarray)\b")
_NUMBER_ANNOTATION = re.compile(r"\b(float|int|Floats?|Values|ArrayLike|NDArray|FloatArray)\b")


def engine_modules() -> Iterator[tuple[str, object]]:
    prefix = diagnostics.engine.__name__ + "."
    for found in pkgutil.walk_packages(diagnostics.engine.__path__, prefix):
        short = found.name.removeprefix(prefix)
        if not any(short == name or short.startswith(name + ".") for name in NOT_RELATIONS):
            yield found.name, importlib.import_module(found.name)


def public_methods(owner: type) -> Iterator[Callable]:
    for name, member in vars(owner).items():
        plain = member.__func__ if isinstance(member, staticmethod | classmethod) else member
        if not name.startswith("_") and inspect.isfunction(plain):
            yield plain


def relations() -> dict[str, tuple[Callable, type | None]]:
    """Every relation by its full name, with the class it belongs to."""
    found: dict[str, tuple[Callable, type | None]] = {}
    for module_name, module in engine_modules():
        for name, thing in vars(module).items():
            if name.startswith("_") or getattr(thing, "__module__", None) != module_name:
                continue
            if inspect.isclass(thing):
                found |= {name_of(method): (method, thing) for method in public_methods(thing)}
            elif inspect.isroutine(thing) or hasattr(thing, "__wrapped__"):
                found[name_of(thing)] = (inspect.unwrap(thing), None)
    short = diagnostics.engine.__name__ + "."
    return {name: one for name, one in found.items() if name.removeprefix(short) not in NOT_RELATIONS}


def load_checks() -> None:
    for found in pkgutil.iter_modules(tests.published.__path__, tests.published.__name__ + "."):
        importlib.import_module(found.name)


def documentation_gaps(function: Callable, owner: type | None) -> list[str]:
    """What the docstring of a relation lacks: parameters, units, reference, example."""
    text = inspect.getdoc(function) or ""
    if owner is not None and "Parameters\n" not in text:
        return _gaps_of_short_method(function, owner, text)
    doc = FunctionDoc(function)
    described = {name.strip(" *"): one for one in doc["Parameters"] for name in one.name.split(",")}
    gaps = [f"parameter {name} is not described" for name in parameters(function) if name not in described]
    for name, one in described.items():
        if _is_number(one.type) and not _UNIT.search(" ".join([one.type, *one.desc])):
            gaps.append(f"parameter {name} has no [unit]")
    for one in doc["Returns"]:
        if _is_number(f"{one.name} {one.type}") and not _UNIT.search(" ".join([one.type, *one.desc])):
            gaps.append("the return value has no [unit]")
    if not doc["Returns"] and "None" not in str(inspect.signature(function).return_annotation):
        gaps.append("the return value is not described")
    gaps += [f"no {section.lower()}" for section in ("References", "Examples") if not doc[section]]
    return gaps


def _is_number(type_words: str) -> bool:
    return bool(_NUMBER.search(type_words)) and "bool" not in type_words


def _gaps_of_short_method(function: Callable, owner: type, text: str) -> list[str]:
    """A one-line method names each number's unit in its sentence; the reference may stand on its class."""
    annotations = inspect.signature(function)
    numeric = [p for p in annotations.parameters.values() if _NUMBER_ANNOTATION.search(str(p.annotation))]
    returns = 1 if re.search(r"\b(float|Any|NDArray)\b", str(annotations.return_annotation)) else 0
    gaps = []
    if len(_UNIT.findall(text)) < len(numeric) + returns:
        gaps.append(f"{len(numeric) + returns} numbers but fewer [units] in the docstring")
    if "References\n" not in text and "References\n" not in (inspect.getdoc(owner) or ""):
        gaps.append("no references, neither here nor on the class")
    return gaps


def parameters(function: Callable) -> list[str]:
    return [name for name in inspect.signature(function).parameters if name not in ("self", "cls")]


def test_every_relation_has_a_published_check():
    load_checks()
    missing = sorted(set(relations()) - set(CHECKS))
    assert not missing, "relations without a check against an outside source:\n" + "\n".join(missing)


def test_every_check_names_a_relation_that_exists():
    load_checks()
    everything = {name for name in CHECKS if name.startswith("diagnostics.engine")}
    gone = [name for name in everything if not _exists(name)]
    assert not gone, "checks of relations that are no more:\n" + "\n".join(gone)


def _exists(name: str) -> bool:
    parts = name.split(".")
    for cut in range(len(parts), 0, -1):
        try:
            thing: object = importlib.import_module(".".join(parts[:cut]))
        except ModuleNotFoundError:
            continue
        for part in parts[cut:]:
            thing = getattr(thing, part, None)
        return thing is not None
    return False


def test_the_checks_rest_on_many_different_sources():
    load_checks()
    sources = {source for by_relation in CHECKS.values() for source in by_relation}
    assert len(sources) >= FEWEST_SOURCES


def test_every_relation_states_its_units_reference_and_an_example():
    gaps = {
        name: found
        for name, (function, owner) in relations().items()
        if (found := documentation_gaps(function, owner))
    }
    listed = "\n".join(f"{name}: {'; '.join(found)}" for name, found in sorted(gaps.items()))
    assert not gaps, "docstrings that leave something open:\n" + listed


@pytest.mark.parametrize("name", NOT_RELATIONS)
def test_what_is_said_to_hold_no_relations_exists(name):
    assert _exists(f"diagnostics.engine.{name}")


def undocumented(flow):
    """Double a flow."""
    return 2 * flow


def without_units(flow: float) -> float:
    """Double a flow.

    Parameters
    ----------
    flow : float
        The flow.

    Returns
    -------
    float
        Twice the flow. [m3/s]
    """
    return 2 * flow


@pytest.mark.parametrize(
    ("function", "expected"),
    [
        (undocumented, "parameter flow is not described"),
        (without_units, "parameter flow has no [unit]"),
        (without_units, "no references"),
    ],
)
def test_a_docstring_with_gaps_is_found_out(function, expected):
    assert expected in documentation_gaps(function, None)
