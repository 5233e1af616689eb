"""Fields for columns that hold a list or an object: ticks for words, a choice a part, a line an entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from contractor.register.models import RIG_PARTS, WETTED_PARTS
from contractor.register.models.customers import TREATMENTS
from contractor.register.models.lists import NOT_FITTED
from diagnostics.engine.descaling.metals import MATERIALS
from diagnostics.engine.descaling.neutralising import AGENTS

WORDS: dict[str, Iterable[str]] = {
    "metals_allowed": MATERIALS,
    "metals_only_inhibited": MATERIALS,
    "metals_forbidden": MATERIALS,
    "neutralisers": AGENTS,
    "treatments": TREATMENTS,
}


ABBREVIATED = frozenset({"epdm", "ptfe", "pvc"})


def spaced(name: str) -> str:
    return name.upper() if name in ABBREVIATED else name.replace("_", " ")


def ticks(name: str, options: dict[str, Any]) -> forms.Field:
    choices = [(word, spaced(word)) for word in WORDS[name]]
    return forms.MultipleChoiceField(choices=choices, widget=forms.CheckboxSelectMultiple, **options)


class PartsWidget(forms.MultiWidget):
    """A choice of material for each part."""

    template_name = "web/parts/parts.html"

    def __init__(self, parts: tuple[str, ...]) -> None:
        self.parts = parts
        choices = [("", "not known"), (NOT_FITTED, "not fitted"), *((m, spaced(m)) for m in MATERIALS)]
        super().__init__(
            {part: forms.Select(choices=choices, attrs={"aria-label": spaced(part)}) for part in parts}
        )

    def decompress(self, value: Any) -> list[Any]:
        return [(value or {}).get(part) for part in self.parts]

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        rows = zip(self.parts, context["widget"]["subwidgets"], strict=True)
        context["rows"] = [(spaced(part), widget) for part, widget in rows]
        return context


class PartsField(forms.MultiValueField):
    def __init__(self, parts: tuple[str, ...], **options: Any) -> None:
        self.parts = parts
        fields = [forms.CharField(required=False) for _ in parts]
        super().__init__(fields, require_all_fields=False, widget=PartsWidget(parts), **options)

    def compress(self, data_list: list[Any]) -> dict[str, str]:
        return {part: material for part, material in zip(self.parts, data_list, strict=False) if material}


class LinesField(forms.CharField):
    """A line an entry, read and written by the two functions."""

    widget = forms.Textarea

    def __init__(
        self, read: Callable[[list[str]], Any], write: Callable[[Any], list[str]], **options: Any
    ) -> None:
        self.read, self.write = read, write
        super().__init__(widget=forms.Textarea(attrs={"rows": 4}), **options)

    def prepare_value(self, value: Any) -> Any:
        return value if isinstance(value, str) or value is None else "\n".join(self.write(value))

    def clean(self, value: Any) -> Any:
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        try:
            return self.read(lines)
        except (ValueError, IndexError) as exc:
            raise ValidationError(f"A line cannot be read. {self.help_text}") from exc


def acids(lines: list[str]) -> list[dict[str, Any]]:
    return [acid(line.split()) for line in lines]


def acid(words: list[str]) -> dict[str, Any]:
    pka = [float(word) for word in words[2:]]
    return {"acid": words[0], "share": float(words[1]), **({"pka": pka} if pka else {})}


def acids_written(value: Any) -> list[str]:
    return [" ".join(map(str, [one["acid"], one["share"], *one.get("pka", [])])) for one in value]


def pairs(lines: list[str]) -> dict[str, str]:
    return {line.split(":", 1)[0].strip(): line.split(":", 1)[1].strip() for line in lines}


def pairs_written(value: Any) -> list[str]:
    return [f"{name}: {words}" for name, words in value.items()]


LINES: dict[str, tuple[Callable[[list[str]], Any], Callable[[Any], list[str]], str]] = {
    "protection": (list, list, "A line each, such as “face shield”."),
    "acids": (
        acids,
        acids_written,
        "A line each: acid, share of the acids, pKa values if the sheet has them.",
    ),
    "sources": (pairs, pairs_written, "A line each: the property, a colon, who says it."),
}


def field_of_list(name: str, of_rig: bool, options: dict[str, Any]) -> forms.Field | None:
    options = {**options, "required": False}
    if name in WORDS:
        return ticks(name, options)
    if name == "wetted_materials":
        return PartsField(RIG_PARTS if of_rig else WETTED_PARTS, **options)
    if name in LINES:
        read, write, said = LINES[name]
        return LinesField(read, write, **{**options, "help_text": said})
    return None


def in_words(value: Any) -> str:
    """A list or an object as people read it."""
    if isinstance(value, dict):
        return "\n".join(f"{spaced(str(name))}: {spaced(str(words))}" for name, words in value.items())
    if value and isinstance(value[0], dict):
        return "\n".join(acids_written(value))
    return ", ".join(spaced(str(one)) for one in value)
