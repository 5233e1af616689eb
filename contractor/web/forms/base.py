from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from contractor.web.forms.words import in_our_words
from contractor.web.quantities import read

NOT_A_NUMBER = "Not a number; expected one such as %(such)s."


class Numeric(forms.Field):
    """A number that is typed with the decimal mark its reader writes."""

    mark: str = ""

    def __init__(self, *, such: str = "6.5", **options: Any) -> None:
        widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})
        messages = {"invalid": NOT_A_NUMBER % {"such": such}}
        super().__init__(**{"widget": widget, "error_messages": messages, **options})

    def to_python(self, value: Any) -> Any:
        return super().to_python(read(value.strip(), self.mark) if isinstance(value, str) else value)


class NumberField(Numeric, forms.FloatField):
    pass


class AmountField(Numeric, forms.DecimalField):
    pass


def shown_by_the_clock(moment: dt.datetime) -> dt.datetime:
    """What a clock on that wall shows at the moment; another time only where clocks skip the one given."""
    return moment.astimezone(dt.UTC).astimezone(moment.tzinfo)


class MomentField(forms.DateTimeField):
    """By the clock on a wall, to the minute. Of the hour that comes twice a year the first is meant; one that
    never comes is told."""

    shown = "%Y-%m-%dT%H:%M"

    def __init__(self, **options: Any) -> None:
        widget = forms.DateTimeInput({"type": "datetime-local"}, self.shown)
        super().__init__(**{"widget": widget, **options})

    def to_python(self, value: Any) -> dt.datetime | None:
        try:
            found: dt.datetime | None = super().to_python(value)
        except ValidationError as exc:
            if exc.code != "ambiguous_timezone" or (naive := parse_datetime(str(value))) is None:
                raise
            found = naive.replace(tzinfo=timezone.get_current_timezone())
            if shown_by_the_clock(found) != found:
                raise ValidationError("The clocks go forward then, so that this hour never comes.") from None
        return found

    def has_changed(self, initial: Any, data: Any) -> bool:
        """What was shown and came back as it was stays, with its seconds."""
        before = self.prepare_value(initial)
        if isinstance(before, dt.datetime) and f"{before:{self.shown}}" == data:
            return False
        return super().has_changed(initial, data)


class RoomForm(forms.Form):
    """groups: ((legend, names of fields), ...); what no group names comes first, without a legend."""

    required_css_class = "required"
    use_required_attribute = True
    groups: ClassVar[tuple[tuple[str, tuple[str, ...]], ...]] = ()
    optional_word: ClassVar[str] = "may stay empty"

    def __init__(self, *args: Any, mark: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, Numeric):
                field.mark = mark
        in_our_words(self.fields.values())

    def legends(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        return self.groups

    def sections(self) -> Iterator[tuple[str, list[Any]]]:
        groups = self.legends()
        named = {name for _, names in groups for name in names}
        loose = [field for field in self.visible_fields() if field.name not in named]
        if loose:
            yield "", loose
        for legend, names in groups:
            fields = [self[name] for name in names if name in self.fields and not self[name].is_hidden]
            if fields:
                yield legend, fields
