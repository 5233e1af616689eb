"""A reading as the office sees it: as typed, and what it told; corrected, moved, set aside with a trace."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.http.permissions import OFFICE
from contractor.visits import services
from contractor.visits.api.readings import CorrectionSerializer
from contractor.visits.models import Reading
from contractor.visits.plausibility import questions_about
from contractor.visits.quantities import READING
from contractor.web.forms.visits import MoveReadingForm, ReasonForm
from contractor.web.page import FormPage, Page
from contractor.web.quantities import in_words, written
from contractor.web.records.fields import NAMES
from contractor.web.records.forms import RecordForm, initial_of
from contractor.web.records.words import label_of
from diagnostics.models import Assessment, Ranking

SECTIONS = (
    ("What was read", tuple(quantity.name for quantity in READING)),
    ("Around it", ("taken_at", "purpose", "stage", "minutes_running", "gauge_set", "probe_moved", "phases",
                   "drop_read_by", "power_includes_fan", "strainer", "back_flush", "fault_lockout", "note")),
    ("Why", ("reason",)),
)  # fmt: skip


def lines_of(reading: Reading, person: Person) -> list[dict[str, str]]:
    """Each value as it was typed, and in the units and with the decimal mark of who looks."""
    found = []
    for each in READING:
        typed, value = reading.as_typed.get(each.name), getattr(reading, each.column)
        if typed is None and value is None:
            continue
        unit = str((typed or {}).get("unit", ""))
        kind = "electric_power" if each.kind == "power" else each.kind
        found.append({
            "name": label_of(each.name),
            "typed": f"{typed.get('value', '')} {NAMES.get(unit, unit)}".strip() if typed else "",
            "shown": in_words(value, kind, person.units, reading.visit.site.elevation_m, person.decimal_mark),
        })  # fmt: skip
    if reading.minutes_running is not None:
        minutes = written(f"{reading.minutes_running:g}", person.decimal_mark)
        found.append({"name": "Minutes running", "typed": "", "shown": f"{minutes} min"})
    if reading.phases is not None:
        found.append({"name": "Phases", "typed": "", "shown": str(reading.phases)})
    return found


class OfReading:
    kwargs: dict[str, Any]

    def reading(self) -> Reading:
        if not hasattr(self, "_reading"):
            rows = Reading.objects.seen_by(self.request.user)  # type: ignore[attr-defined]
            rows = rows.select_related(
                "visit__site", "exchanger__unit", "taken_by", "gauge_set", "supersedes"
            )
            self._reading: Reading = get_object_or_404(rows, pk=self.kwargs["pk"])
        return self._reading

    def back_to(self) -> str:
        return reverse("web:reading", args=[self.kwargs["pk"]])


class ShowReading(OfReading, Page):
    may = OFFICE
    template = "web/office/reading.html"

    def context(self) -> dict[str, Any]:
        reading = self.reading()
        return {
            "title": f"Reading of {reading.exchanger}", "reading": reading,
            "lines": lines_of(reading, self.person),
            "result": Assessment.objects.filter(reading=reading, superseded_at=None).first(),
            "ranking": Ranking.objects.current().filter(reading=reading).first(),
            "successor": Reading.objects.filter(supersedes=reading).first(),
            "questions": () if reading.superseded_at else questions_about(reading),
        }  # fmt: skip


class CorrectReading(OfReading, FormPage):
    may = OFFICE
    form_class = RecordForm
    send_label = "Put the corrected reading in its place"
    done = "The corrected reading stands; the old one is kept. Both are on record, and it is assessed again."

    def answer(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """The moment is typed and shown by the clock on the site's wall."""
        with timezone.override(self.reading().visit.site.zone):
            return super().answer(request, *args, **kwargs)

    def serializer(self, **given: Any) -> Any:
        return CorrectionSerializer(self.reading(), context={"request": self.request}, **given)

    def form_options(self) -> dict[str, Any]:
        return {
            "serializer": self.serializer(), "quantities": READING, "units": self.person.units,
            "mark": self.person.decimal_mark,
            "sections": SECTIONS, "left_out": ("taken_by",),
        }  # fmt: skip

    def initial(self) -> dict[str, Any]:
        reading = self.reading()
        elevation_m = reading.visit.site.elevation_m
        return initial_of(reading, self.serializer(), READING, self.person.units, elevation_m)

    def context(self) -> dict[str, Any]:
        return {"title": f"Correct the reading of {self.reading().exchanger}", "back": self.back_to()}

    def carry_out(self, form: RecordForm) -> str:
        serializer = CorrectionSerializer(
            data=form.changed("reason"), context={"request": self.request}, partial=True
        )
        serializer.is_valid(raise_exception=True)
        fields = dict(serializer.validated_data)
        reason = fields.pop("reason", "")
        posted = services.correct_reading(self.person, self.reading(), fields, reason, timezone.now())
        return reverse("web:reading", args=[posted.reading.pk])


class MoveReading(OfReading, FormPage):
    may = OFFICE
    form_class = MoveReadingForm
    send_label = "Move it"
    intro = "For a reading that was posted on the wrong unit or in the wrong mode. Both are assessed again."
    done = "The reading is moved; both exchangers are assessed again."

    def form_options(self) -> dict[str, Any]:
        return {"site": self.reading().visit.site}

    def initial(self) -> dict[str, Any]:
        return {"exchanger": self.reading().exchanger_id, "mode": self.reading().mode}

    def context(self) -> dict[str, Any]:
        return {"title": f"Move the reading of {self.reading().exchanger}", "back": self.back_to()}

    def carry_out(self, form: MoveReadingForm) -> str:
        given = form.cleaned_data
        posted = services.move_reading(
            self.person, self.reading(), given["exchanger"], given["mode"], given["reason"], timezone.now()
        )
        return reverse("web:reading", args=[posted.reading.pk])


class SetAsideReading(OfReading, FormPage):
    may = OFFICE
    form_class = ReasonForm
    send_label = "Set it aside"
    intro = "For a reading that was entered twice or never taken. It is kept, and counts no more."
    done = "The reading is set aside."

    def context(self) -> dict[str, Any]:
        return {"title": f"Set aside the reading of {self.reading().exchanger}", "back": self.back_to()}

    def carry_out(self, form: ReasonForm) -> str:
        services.set_aside_reading(self.person, self.reading(), form.cleaned_data["reason"], timezone.now())
        return self.back_to()
