"""Booking and moving visits, and what the office does with readings."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django import forms

from contractor.accounts.models import Person, Role
from contractor.descales.models import Descale
from contractor.register.models import Exchanger, Rig, Site
from contractor.visits.hours import LONGEST_SHIFT, window_in_words
from contractor.visits.models import VISIT_REASONS, Visit
from contractor.web.forms.base import RoomForm, shown_by_the_clock
from diagnostics.engine.records import MODES

DAY = forms.DateInput({"type": "date"}, "%Y-%m-%d")
CLOCK = {"type": "time"}


class VisitForm(RoomForm):
    """A window by the clock on the site's wall; one that ends before it starts runs over midnight."""

    groups = (
        (
            "Where and when",
            ("site", "day", "starts", "ends", "last_day", "so_long", "outside_hours_agreed_with"),
        ),
        ("Who and what for", ("crew", "reason", "descale", "urgent", "notes")),
        ("Cleaning and noise", ("chemical_work", "no_chemical", "rigs", "noisy", "quiet_hours_agreed_with")),
    )
    pointers: ClassVar[dict[str, str]] = {"window_start": "starts", "window_end": "ends"}
    site = forms.ModelChoiceField(Site.objects.in_use().select_related("customer"), empty_label="choose")
    day = forms.DateField(widget=DAY)
    starts = forms.TimeField(
        widget=forms.TimeInput(CLOCK, "%H:%M"), help_text="By the clock on the site's wall."
    )
    ends = forms.TimeField(widget=forms.TimeInput(CLOCK, "%H:%M"))
    last_day = forms.DateField(
        required=False,
        widget=DAY,
        help_text="Only where the work goes on for days: the day on which it ends.",
    )
    so_long = forms.CharField(required=False, label="It is meant so long")
    outside_hours_agreed_with = forms.CharField(
        max_length=120,
        required=False,
        label="Outside access hours, agreed with",
        help_text="Only where the window lies outside the site's access hours: who of the customer agreed.",
    )
    crew = forms.ModelMultipleChoiceField(
        Person.objects.filter(is_active=True).exclude(role=Role.CLIENT).order_by("name"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    reason = forms.ChoiceField(choices=[(word, word) for word in VISIT_REASONS])
    urgent = forms.BooleanField(required=False, label="Urgent", help_text="Access hours do not hold it.")
    descale = forms.ModelChoiceField(
        Descale.objects.wanting_a_visit().select_related("exchanger__unit__site"), required=False,
        empty_label="none", help_text="One that the customer agreed to and that has no visit yet.",
    )  # fmt: skip
    notes = forms.CharField(
        required=False, widget=forms.Textarea({"rows": 3}), help_text="For the crew. Clients do not see them."
    )

    chemical_work = forms.BooleanField(
        required=False,
        label="Chemical work",
        help_text="Acid or another cleaner goes in, as a descale has it. Wants two people, and certificates "
        "that hold that day.",
    )
    no_chemical = forms.BooleanField(
        required=False,
        label="A descale without chemicals",
        help_text="No acid or other cleaner goes in: only then may a descale do without that crew.",
    )
    rigs = forms.ModelMultipleChoiceField(
        Rig.objects.in_use().order_by("name"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="A rig is in one place at a time, with its tank and pump.",
    )
    noisy = forms.BooleanField(
        required=False, label="Noisy", help_text="Pumps or tools run that the site's quiet hours forbid."
    )
    quiet_hours_agreed_with = forms.CharField(
        max_length=120,
        required=False,
        label="Noise inside quiet hours, agreed with",
        help_text="Only where it must be: who of the customer agreed.",
    )

    def __init__(self, *args: Any, site: Site | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.of_site = site
        self.fields["so_long"].widget = forms.HiddenInput()

    def clean_descale(self) -> Descale | None:
        site, descale = self.cleaned_data.get("site"), self.cleaned_data.get("descale")
        if site is not None and descale is not None and descale.exchanger.unit.site_id != site.pk:
            raise forms.ValidationError(f"It is at {descale.exchanger.unit.site}; expected one at {site}.")
        return descale

    def clean_last_day(self) -> dt.date | None:
        first: dt.date | None = self.cleaned_data.get("day")
        last: dt.date | None = self.cleaned_data["last_day"]
        if first is not None and last is not None and last < first:
            raise forms.ValidationError(f"It is before {first:%-d %b %Y}, when the visit starts.")
        return last

    def clean(self) -> dict[str, Any]:
        """A visit that would be very long is asked about, with both its ends; a tick answers for that one."""
        given: dict[str, Any] = super().clean() or self.cleaned_data
        site: Any = self.of_site or given.get("site")
        if site is None or not {"day", "starts", "ends"} <= given.keys():
            return given
        start, end = self.window(site)
        if self.refuse_hours_that_the_clock_skips(site, starts=start, ends=end):
            return given
        if end - start > LONGEST_SHIFT and window_in_words(site, start, end) != self.data.get("so_long"):
            self.ask_whether_so_long(site, start, end)
        return given

    def refuse_hours_that_the_clock_skips(self, site: Site, **ends: dt.datetime) -> bool:
        """When clocks go forward an hour of that night never comes: nobody can arrive in it, or leave."""
        skipped = {name: moment for name, moment in ends.items() if shown_by_the_clock(moment) != moment}
        for name, moment in skipped.items():
            self.add_error(
                name,
                f"The clocks of {site} go forward that night, so that {moment:%H:%M} never comes on "
                f"{moment:%a %-d %b %Y}: {shown_by_the_clock(moment):%H:%M} takes its place.",
            )
        return bool(skipped)

    def ask_whether_so_long(self, site: Site, start: dt.datetime, end: dt.datetime) -> None:
        words, hours = window_in_words(site, start, end), (end - start).total_seconds() / 3600
        tick = forms.CheckboxInput(check_test=lambda value: value == words)
        tick.attrs["value"] = words
        self.fields["so_long"].widget = tick
        self.fields["so_long"].help_text = f"{words}."
        self.add_error(
            "ends",
            f"From {words} is {hours:.3g} hours. Mend the hours, or tick that it is meant so long.",
        )

    def window(self, site: Site) -> tuple[dt.datetime, dt.datetime]:
        given = self.cleaned_data
        start = dt.datetime.combine(given["day"], given["starts"], tzinfo=site.zone)
        end = dt.datetime.combine(given.get("last_day") or given["day"], given["ends"], tzinfo=site.zone)
        if given.get("last_day") is None and end <= start and given["ends"] != given["starts"]:
            end += dt.timedelta(days=1)
        return start, end

    def fields_of_visit(self, site: Site) -> dict[str, Any]:
        given = self.cleaned_data
        start, end = self.window(site)
        names = ("reason", "outside_hours_agreed_with", "notes", "noisy", "quiet_hours_agreed_with")
        descaled = given["reason"] == "descale" and not given["no_chemical"]
        return {"window_start": start, "window_end": end, "chemical_work": given["chemical_work"] or descaled,
                **{name: given[name] for name in names}}  # fmt: skip


class MoveVisitForm(VisitForm):
    """What may change of a visit that stands."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["site"], self.fields["urgent"], self.fields["descale"]

    @staticmethod
    def of(visit: Visit) -> dict[str, Any]:
        zone: ZoneInfo = visit.site.zone
        start, end = visit.window_start.astimezone(zone), visit.window_end.astimezone(zone)
        into_next_day = start.date() + dt.timedelta(days=end.time() < start.time())
        return {
            "last_day": end.date() if end.date() != into_next_day else None,
            "day": start.date(), "starts": start.time(), "ends": end.time(), "reason": visit.reason,
            "so_long": window_in_words(visit.site, start, end),
            "crew": list(visit.crew.all()), "notes": visit.notes,
            "outside_hours_agreed_with": visit.outside_hours_agreed_with,
            "chemical_work": visit.chemical_work,
            "no_chemical": visit.reason == "descale" and not visit.chemical_work,
            "noisy": visit.noisy, "rigs": list(visit.rigs.all()),
            "quiet_hours_agreed_with": visit.quiet_hours_agreed_with,
        }  # fmt: skip


class ReasonForm(RoomForm):
    reason = forms.CharField(max_length=300, label="Why", help_text="In a few words; it stays on record.")


class MoveReadingForm(ReasonForm):
    exchanger = forms.ModelChoiceField(Exchanger.objects.none(), label="Belongs to")
    mode = forms.ChoiceField(choices=[(mode, mode) for mode in MODES])
    field_order = ["exchanger", "mode", "reason"]

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Exchanger.objects.in_use().filter(unit__site=site).select_related("unit")
        self.fields["exchanger"].queryset = rows.order_by("unit__tag", "name")  # type: ignore[attr-defined]


class SendForm(RoomForm):
    to = forms.CharField(
        label="To",
        help_text="E-mail addresses, with commas between.",
        widget=forms.TextInput({"inputmode": "email"}),
    )
    note = forms.CharField(
        required=False,
        widget=forms.Textarea({"rows": 4}),
        help_text="Stands at the top of the letter; the PDF is attached to it.",
    )
