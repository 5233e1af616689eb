"""What a field says when it is wrong: what would be right, in the words of people, never a program's."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import EmailValidator, MaxLengthValidator, ProhibitNullCharactersValidator

FILL, CHOOSE, AGAIN = "Fill this in.", "Choose one.", "That is not among the choices any more; choose again."
PART = "give all of it: day, month and year"
# the first that fits; a partly filled date or time reaches us empty, so that both words say what is whole
WORDS: tuple[tuple[type[forms.Field], dict[str, str]], ...] = (
    (forms.ModelMultipleChoiceField, {"required": "Tick one at least.", "invalid_choice": AGAIN,
                                      "invalid_pk_value": AGAIN, "invalid_list": AGAIN}),
    (forms.MultipleChoiceField, {"required": "Tick one at least.", "invalid_choice": AGAIN,
                                 "invalid_list": AGAIN}),
    (forms.ChoiceField, {"required": CHOOSE, "invalid_choice": AGAIN}),
    (forms.ModelChoiceField, {"required": CHOOSE, "invalid_choice": AGAIN, "invalid_pk_value": AGAIN}),
    (forms.DateTimeField, {"required": f"Fill this in; {PART}, and the time.",
                           "invalid": f"Not a day and time; {PART}, and the time."}),
    (forms.DateField, {"required": f"Fill this in; {PART}.", "invalid": f"Not a day; {PART}."}),
    (forms.TimeField, {"required": "Fill this in; give all of it: hours and minutes, and AM or PM where it "
                       "asks for them.", "invalid": "Not a time; expected one such as 14:30."}),
    (forms.BooleanField, {"required": "Tick this to go on."}),
    (forms.EmailField, {"required": FILL}),
    (forms.Field, {"required": FILL}),
)  # fmt: skip
EMAIL = "Not an e-mail address; expected one such as name@example.org."
TOO_LONG = "Too long by %(over)d characters; %(limit_value)d at most."
NO_NUL = "It holds a character that cannot be kept; type it again."

# what the API says to programs, which know what a number is
FROM_THE_API = {
    "A valid number is required.": "Not a number; expected one such as 6.5.",
    "A valid integer is required.": "Not a whole number; expected one such as 4.",
    "Enter a valid email address.": EMAIL,
    "This field is required.": FILL,
    "This field may not be blank.": FILL,
    "This field may not be null.": FILL,
}


class Shorter(MaxLengthValidator):
    """How much too long it is: what has to go can be counted."""

    def __call__(self, value: Any) -> None:
        over = self.clean(value) - int(self.limit_value)
        if over > 0:
            words = {"over": over, "limit_value": self.limit_value}
            raise ValidationError(TOO_LONG, code=self.code, params=words)


def in_our_words(fields: Iterable[forms.Field]) -> None:
    """Django's own words are put aside; what a field was given to say stays."""
    for field in fields:
        ours = next(words for kind, words in WORDS if isinstance(field, kind))
        for code, words in ours.items():
            if field.error_messages.get(code) == _djangos(field, code):
                field.error_messages[code] = words
        field.validators = [_said_by_us(each) for each in field.validators]
        if isinstance(field, forms.MultiValueField):
            in_our_words(field.fields)


def _djangos(field: forms.Field, code: str) -> object:
    """What a field of this kind says where nobody gave it other words."""
    found: object = None
    for kind in reversed(type(field).__mro__):
        if kind.__module__.startswith("django."):
            found = getattr(kind, "default_error_messages", {}).get(code, found)
    return found


def _said_by_us(validator: Any) -> Any:
    if isinstance(validator, MaxLengthValidator):
        return Shorter(validator.limit_value)
    if isinstance(validator, ProhibitNullCharactersValidator):
        return ProhibitNullCharactersValidator(NO_NUL)
    if isinstance(validator, EmailValidator):
        return EmailValidator(EMAIL)
    return validator
