from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms

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
