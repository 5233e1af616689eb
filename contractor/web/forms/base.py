from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms


class RoomForm(forms.Form):
    """groups: ((legend, names of fields), ...); what no group names comes first, without a legend."""

    required_css_class = "required"
    use_required_attribute = True
    groups: ClassVar[tuple[tuple[str, tuple[str, ...]], ...]] = ()

    def legends(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        return self.groups

    def sections(self) -> Iterator[tuple[str, list[Any]]]:
        groups = self.legends()
        named = {name for _, names in groups for name in names}
        loose = [field for field in self.visible_fields() if field.name not in named]
        if loose:
            yield "", loose
        for legend, names in groups:
            fields = [self[name] for name in names if name in self.fields]
            if fields:
                yield legend, fields
