"""Forms about oneself: signing in, passwords, name and units."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.utils import timezone

from contractor.accounts import guard, services
from contractor.accounts.models import DecimalMark, Person, Units
from contractor.http.problems import Problem
from contractor.web.forms.base import RoomForm
from contractor.web.forms.words import in_our_words

CURRENT = {"autocomplete": "current-password"}
NEW = {"autocomplete": "new-password"}
RULE = "12 characters or more. A few plain words are good; a common password is refused."


class SignInForm(AuthenticationForm):
    """E-mail and password, counted and slowed down as at the API."""

    error_messages = {"wait": "Too many attempts. Wait %(minutes)s minutes, then try again."}
    refused: Problem | None = None

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "E-mail address"
        self.fields["username"].widget = forms.EmailInput({"autocomplete": "username", "maxlength": 254})
        in_our_words(self.fields.values())

    def clean(self) -> dict[str, Any]:
        email, password = self.cleaned_data.get("username"), self.cleaned_data.get("password")
        if email and password and self.request is not None:
            try:
                self.user_cache = services.check_credentials(
                    email, password, guard.address_of(self.request), timezone.now()
                )
            except Problem as problem:
                self.refused = problem
                raise ValidationError(self.words_of(problem)) from problem
        return self.cleaned_data

    def words_of(self, problem: Problem) -> str:
        wait = int(problem.headers.get("Retry-After", 0))
        if wait:
            return self.error_messages["wait"] % {"minutes": wait // 60 + 1}
        return f"{problem.detail} If you have forgotten it, ask for a link to set a new one."


class ForgottenForm(RoomForm):
    email = forms.EmailField(
        label="E-mail address", widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )


class NewPasswordForm(RoomForm):
    new_password = forms.CharField(
        label="New password",
        help_text=RULE,
        strip=False,
        max_length=1024,
        widget=forms.PasswordInput(attrs=NEW),
    )


class ChangePasswordForm(RoomForm):
    current_password = forms.CharField(
        label="Password until now", strip=False, max_length=1024, widget=forms.PasswordInput(attrs=CURRENT)
    )
    new_password = forms.CharField(
        label="New password",
        help_text=RULE,
        strip=False,
        max_length=1024,
        widget=forms.PasswordInput(attrs=NEW),
    )


class MeForm(RoomForm):
    name = forms.CharField(max_length=120, help_text="As others see it, on reports too.")
    phone = forms.CharField(
        max_length=40,
        required=False,
        label="Telephone",
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"}),
    )
    units = forms.ChoiceField(
        choices=Units.choices,
        widget=forms.RadioSelect,
        label="Numbers are shown in",
        help_text="What you type may be in any unit: it stands beside the field.",
    )

    decimal_mark = forms.ChoiceField(
        choices=DecimalMark.choices, widget=forms.RadioSelect, label="Decimals are written", required=False
    )

    def clean_decimal_mark(self) -> str:
        return self.cleaned_data["decimal_mark"] or DecimalMark.POINT

    @staticmethod
    def of(person: Person) -> dict[str, Any]:
        return {"name": person.name, "phone": person.phone, "units": person.units,
                "decimal_mark": person.decimal_mark}  # fmt: skip
