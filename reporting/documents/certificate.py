"""The certificate of a descale, for the customer: did it help, what was used, what left and where to."""

from __future__ import annotations

from reportlab.platypus import Flowable, KeepTogether, Table

from diagnostics.engine.records import Interval
from reporting.documents import amounts, parts, words
from reporting.documents.drawn import Drawn
from reporting.documents.figures import before_after_figure
from reporting.documents.frame import Imprint, build, text_width_of
from reporting.documents.job_facts import Certificate, Kept, LetOut, Mixed, Proof, Signature
from reporting.documents.results import scaled, scaled_by

TYPED = "The name was typed and confirmed in place of a drawn signature."
HEADLINES = {
    "improved": "The descale removed fouling, and the readings show it.",
    "no_improvement_shown": "The descale was carried out; the readings show no improvement.",
    "worse": "The descale was carried out; the readings after it are worse than those before.",
    "not_known": "The descale was carried out; whether it helped is not known from the readings.",
}
REFERENCES = {
    "clean_reference": "The readings after it serve as the clean reference from now on.",
    "best_since": "The readings after it serve as the best known state, not as clean: what is left is not "
    "shown to be none.",
    "none": "The readings after it do not serve as a reference.",
}
CALLED = {
    "finished": "The end was called by the log: strength above its limit, and pH, strength and solids no "
    "longer changing.",
    "not_called": "The end was not called by the log; the bath was drained before that.",
}


def title_of(of: Certificate) -> str:
    return f"Descale certificate: unit {of.place.unit}, {words.day(of.started_at)}"


def render(of: Certificate, paper: str = "a4") -> bytes:
    width = text_width_of(paper)
    imprint = Imprint(
        contractor=of.place.contractor,
        title=title_of(of),
        subject=_headline(of),
        foot=f"{of.place.customer} · {of.place.site} · no. {of.number[:12]}",
    )
    return build(story(of, width), paper, imprint)


def story(of: Certificate, width: float) -> list[Flowable]:
    return [
        *_top(of, width),
        *_who_and_where(of, width),
        *_used(of, width),
        *_left_where(of, width),
        *_compared(of, width),
        *_open(of, width),
        *_signed(of, width),
    ]


def in_words(of: Certificate) -> list[str]:
    """The result as the certificate puts it."""
    return [_headline(of), _verdict(of), *_below(of.proof)]


def _headline(of: Certificate) -> str:
    return HEADLINES[of.proof.improved if of.proof else "not_known"]


def _top(of: Certificate, width: float) -> list[Flowable]:
    verdict = parts.text(_verdict(of), "verdict")
    told = [*_below(of.proof), CALLED.get(of.called, words.sentence(of.called))]
    shown: list[Flowable] = [
        parts.Bookmark("Result"),
        parts.message("Descale certificate", _headline(of), verdict, told, width),
    ]
    return [*shown, *_figure(of.proof, width)]


def _verdict(of: Certificate) -> str:
    proof = of.proof
    if proof is None or proof.removed is None:
        return f"Unit {of.place.unit}, {words.day(of.started_at)}. No figure can be given: see below."
    middle, ends = _told(proof.removed, proof.unit)
    told = f"Fouling resistance removed: {middle}, 95 % interval {ends}"
    if proof.area_m2 is None:
        return f"{told}."
    whole, whole_ends = _told(scaled_by(proof.removed, 1.0 / proof.area_m2), "K/W")
    return f"{told}; of the whole exchanger {whole} ({whole_ends})."


def _told(value: Interval, unit: str) -> tuple[str, str]:
    return words.scientific_interval(value, unit, words.power_of_ten(max(abs(value.value), abs(value.high))))


def _limit_words(proof: Proof) -> str:
    """The limit once more, of the whole exchanger, where its area is known."""
    if proof.limit is None or proof.area_m2 is None:
        return ""
    return f"Of the whole exchanger the limit is {words.scientific(proof.limit / proof.area_m2, 'K/W')}."


def _below(proof: Proof | None) -> list[str]:
    if proof is None:
        return ["There are no readings before and after that could be set against each other."]
    told = []
    if proof.probability_below_limit is not None:
        within = proof.probability_below_limit
        told.append(
            f"The unit is within its fouling limit now, with a probability of {words.percent(within)}."
            if within >= 0.5
            else f"The unit is beyond its fouling limit still, with a probability of "
            f"{words.percent(1 - within)}."
        )
    if proof.lockout_cleared is not None:
        told.append(
            "The fault lockout is cleared." if proof.lockout_cleared else "The fault lockout is NOT cleared."
        )
    if proof.reference in REFERENCES:
        told.append(REFERENCES[proof.reference])
    return told


def _figure(proof: Proof | None, width: float) -> list[Flowable]:
    if proof is None or proof.before is None or proof.after is None:
        return []
    exponent = words.power_of_ten(max(abs(proof.before.high), abs(proof.after.high), proof.limit or 0.0))
    drawn = before_after_figure(
        "Fouling resistance", scaled(proof.before, exponent), scaled(proof.after, exponent),
        proof.limit / 10.0**exponent if proof.limit is not None else None, proof.unit, exponent, width,
    )  # fmt: skip
    caption = " ".join(filter(None, [drawn.words, _limit_words(proof)]))
    return [KeepTogether([parts.gap(12), *parts.figure(drawn, caption)])]


def _who_and_where(of: Certificate, width: float) -> list[Flowable]:
    place, name = of.place, words.plain_name
    ended = f" to {words.moment_words(of.ended_at)}" if of.ended_at else ""
    rows = [
        ("Customer", place.customer),
        ("Site", place.site),
        ("Address", place.address),
        ("Unit", ", ".join(filter(None, [place.unit, place.place]))),
        (
            "Exchanger",
            ", ".join(filter(None, [place.exchanger, name(place.exchanger_kind), name(place.metal)])),
        ),
        ("Refrigerant", place.refrigerant),
        ("Carried out", words.moment_words(of.started_at) + ended),
        ("Crew", words.listed(list(of.crew))),
        ("Certificate", of.number),
    ]
    return parts.section("What was descaled", parts.pairs([row for row in rows if row[1]], width))


def _used(of: Certificate, width: float) -> list[Flowable]:
    rows = [_mixed(n, one) for n, one in enumerate(of.batches, 1)]
    head = ("Batch", "Cleaner and lot", "Put in", "Strength", "In", "Out")
    told: list[Flowable] = []
    if rows:
        told.append(parts.table(head, rows, (1, 4.2, 3.4, 1.4, 1.6, 1.6), width))
    else:
        told.append(parts.text("No batch is on record."))
    if of.dissolved_kg is not None:
        mass = amounts.mass_range(of.dissolved_kg)
        said = f"about {mass}, reckoned as calcium carbonate from the acid that was used up{_titrated(of)}."
        told += [parts.gap(4), parts.text(words.sentence(said), lead="Dissolved, by titration.")]
    if of.seen:
        told += [parts.gap(4), parts.text(words.sentence("; ".join(of.seen)), lead="What came out.")]
    if of.rinsed:
        told += [parts.gap(4), parts.text(words.sentence(of.rinsed), lead="Rinsed.")]
    return parts.section("What was used, and what came out", *told)


def _titrated(of: Certificate) -> str:
    some, all_of_them = of.titrated
    return f" in the {some} of {all_of_them} batches that were titrated" if some < all_of_them else ""


def _mixed(n: int, one: Mixed) -> tuple[str, ...]:
    lot = f"lot {one.lot}" if one.lot else "lot not recorded"
    expires = f", expires {one.expires}" if one.expires else ""
    put_in = [amounts.mass(one.product_kg) if one.product_kg else "",
              f"in {amounts.volume(one.water_m3)} of water" if one.water_m3 else ""]  # fmt: skip
    return (
        f"{n}",
        f"{one.product}, {lot}{expires}",
        " ".join(filter(None, put_in)) or "–",
        amounts.per_cent(one.strength) if one.strength is not None else "–",
        amounts.clock(one.mixed_at),
        amounts.clock(one.out_at) if one.out_at else "–",
    )


def _left_where(of: Certificate, width: float) -> list[Flowable]:
    told: list[Flowable] = []
    if of.let_out:
        head = ("When", "What", "How much", "pH", "Metals and solids, mg/L", "Where to, by whose leave")
        told.append(parts.table(head, [_let_out(one) for one in of.let_out], (2, 2, 1.7, 1, 2, 4), width))
    exceeding = [words.sentence(one) for each in of.let_out for one in each.exceedances]
    if exceeding:
        told += [
            parts.gap(4),
            parts.text(" ".join(dict.fromkeys(exceeding)), lead="Outside the site's limits."),
        ]
    if of.kept:
        held = ("Held since", "What", "How much", "Where, and who answers for it")
        told += [parts.gap(6), parts.table(held, [_kept(one) for one in of.kept], (2, 2, 3, 5), width)]
    if not told:
        told.append(parts.text("Nothing is on record as let out or held."))
    return parts.section("What left the tank, and where to", *told)


def _let_out(one: LetOut) -> tuple[str, ...]:
    values = {
        "copper": one.copper_mg_per_l, "iron": one.iron_mg_per_l, "zinc": one.zinc_mg_per_l,
        "solids": one.solids_mg_per_l,
    }  # fmt: skip
    metals = [f"{name} {words.number(value, 2)}" for name, value in values.items() if value is not None]
    leave = f", {one.permit}" if one.permit else ""
    return (
        words.short_day(one.at),
        words.plain_name(one.water),
        amounts.volume(one.volume_m3) if one.volume_m3 is not None else "not measured",
        words.fixed(one.ph, 1) if one.ph is not None else "–",
        ", ".join(metals) or "not measured",
        f"{words.plain_name(one.route)}{leave}",
    )


def _kept(one: Kept) -> tuple[str, ...]:
    return (
        words.short_day(one.at),
        words.plain_name(one.water),
        amounts.volume(one.volume_m3) if one.volume_m3 is not None else "not measured",
        f"{one.where}; {one.whose}",
    )


def _compared(of: Certificate, width: float) -> list[Flowable]:
    proof = of.proof
    if proof is None:
        return []
    rows = [
        (one.name, amounts.measured(one.before, one.unit), amounts.measured(one.after, one.unit),
         f"{(one.after / one.before - 1) * 100:+.0f} %".replace("-", words.MINUS) if one.before else "–")
        for one in proof.compared
    ]  # fmt: skip
    told: list[Flowable] = []
    if rows:
        told.append(parts.table(("As read", "Before", "After", "Change"), rows, (4, 3, 3, 2), width))
    told.append(parts.gap(4))
    first, second = words.day(proof.before_at), words.day(proof.after_at)
    days = f"Both read on {first}" if first == second else f"Read on {first} and on {second}"
    told.append(
        parts.text(f"{days}; at other water temperatures and loads these differ by themselves.", "small")
    )
    told += [*_modelled(proof, width)]
    told += [parts.text(words.sentence(one), "small") for one in proof.cautions]
    return parts.section("Readings before and after", *told)


def _modelled(proof: Proof, width: float) -> list[Flowable]:
    """What it gives back at the same conditions; nothing where the register knows too little for a model."""
    if not proof.modelled or proof.modelled_at_k is None:
        return []
    rows = [
        (one.name, f"{words.number(one.before, 3)} {one.unit}", f"{words.number(one.after, 3)} {one.unit}",
         f"{_signed_number(one.change.value)} ({_signed_number(one.change.low)} to "
         f"{_signed_number(one.change.high)}) {one.unit}")
        for one in proof.modelled
    ]  # fmt: skip
    head = ("At the same conditions", "Before", "After", "Change, 95 % interval")
    at = amounts.water(proof.modelled_at_k)
    said = (
        f"By a model of this unit at entering water of {at}, with the fouling before and after as judged; "
        "it was not measured at these conditions."
    )
    return [parts.gap(6), parts.table(head, rows, (4, 2.2, 2.2, 4), width), parts.gap(4),
            parts.text(said, "small")]  # fmt: skip


def _signed_number(value: float) -> str:
    return f"{value:+.2f}".replace("-", words.MINUS)


def _open(of: Certificate, width: float) -> list[Flowable]:
    if not of.left_open:
        return []
    return parts.section("Left open", parts.numbered([words.sentence(one) for one in of.left_open], width))


def _signed(of: Certificate, width: float) -> list[Flowable]:
    if not of.signatures:
        return parts.section("Signed", parts.text("Not signed."))
    cells = [_signature(one) for one in of.signatures[:2]] + [""] * (2 - len(of.signatures[:2]))
    look = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    table = Table([cells], colWidths=[width / 2] * 2, style=parts.looking(look))
    return parts.section("Signed", table)


def _signature(one: Signature) -> list[Flowable]:
    said = {"customer": "for the customer", "technician": "for the contractor"}.get(
        one.signs_as, one.signs_as
    )
    told = f"{said}, {words.moment_words(one.at)}" + ("" if one.strokes else f". {TYPED}")
    return [Drawn(one.strokes), parts.text(one.name, "cell-strong"), parts.text(told, "small")]
