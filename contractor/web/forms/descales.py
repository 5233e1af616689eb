"""What the office decides about a descale."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone

from contractor.register.models import Exchanger, Site
from contractor.visits.hours import window_in_words
from contractor.visits.models import Visit
from contractor.web.forms.base import AmountField, MomentField, NumberField, RoomForm


class LocalForm(RoomForm):
    """Moments are typed by the clock on the site's wall."""

    def __init__(self, *args: Any, zone: ZoneInfo, **kwargs: Any) -> None:
        self.zone = zone
        super().__init__(*args, **kwargs)

    def full_clean(self) -> None:
        with timezone.override(self.zone):
            super().full_clean()


class RecommendForm(RoomForm):
    exchanger = forms.ModelChoiceField(Exchanger.objects.none(), empty_label="choose")
    because = forms.CharField(max_length=500, label="Why", widget=forms.Textarea({"rows": 3}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Exchanger.objects.in_use().select_related("unit").order_by("unit__tag", "name")
        self.fields["exchanger"].queryset = rows  # type: ignore[attr-defined]


class AboutForm(RoomForm):
    """What a descale is booked on, and the piping as somebody saw it."""

    visit = forms.ModelChoiceField(
        Visit.objects.none(), required=False, empty_label="none",
        help_text="An open visit at the site; its crew and their certificates count on the day.",
    )  # fmt: skip
    strainer_inside_valves = forms.NullBooleanField(required=False, label="Strainer between the valves")
    vent_at_both_tops = forms.NullBooleanField(
        required=False, label="Vent at the top of both paths", help_text="Only then is the flow reversed."
    )

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Visit.objects.open().filter(site=site).select_related("site").order_by("window_start")
        self.fields["visit"].queryset = rows  # type: ignore[attr-defined]
        self.fields["visit"].label_from_instance = window_of  # type: ignore[attr-defined]


def window_of(visit: Visit) -> str:
    window = window_in_words(visit.site, visit.window_start, visit.window_end)
    return f"{window}, {visit.reason.replace('_', ' ')}"


class PriceForm(RoomForm):
    amount = AmountField(min_value=0, max_digits=12, decimal_places=2, such="480 or 480.50")
    currency = forms.CharField(min_length=3, max_length=3, help_text="Three letters, such as EUR.")
    words = forms.CharField(max_length=500, required=False, label="What it includes")


class ConsentForm(LocalForm):
    said_by = forms.CharField(max_length=120, label="Who said yes", help_text="For the customer.")
    said_at = MomentField(label="When", help_text="By the clock on the site's wall.")
    order_number = forms.CharField(max_length=80, required=False)
    quiet_hours_too = forms.BooleanField(
        required=False, label="Agrees to the pump's noise in quiet hours too"
    )


class NoticeForm(LocalForm):
    work_starts_at = MomentField(label="Work starts", help_text="By the clock on the site's wall.")
    hours_without_cooling = NumberField(min_value=0, label="Hours without cooling or heating")
    chemical = forms.CharField(max_length=200, help_text="Kind of cleaner; its safety sheet goes along.")
    noise = forms.CharField(max_length=300, help_text="What will be heard, and when.")
    others_affected = forms.CharField(
        max_length=300, label="Others that stand still", help_text="Other units meanwhile; “none” if none."
    )
    sent_to = forms.CharField(
        max_length=200, required=False, label="Told besides",
        help_text="Who at the customer was told by voice or letter. Whoever signs in there gets an e-mail.",
    )  # fmt: skip


class CollectedForm(RoomForm):
    who = forms.CharField(
        max_length=200, label="Who fetched it", help_text="With the reference of their paper."
    )
