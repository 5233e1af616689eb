"""Everyone's own: name and units, password, and where one is signed in."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import update_session_auth_hash
from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from contractor.accounts import services
from contractor.accounts.models import PageSession, Token
from contractor.http.permissions import EVERYONE
from contractor.web import sign_ins
from contractor.web.forms.account import ChangePasswordForm, MeForm
from contractor.web.page import Deed, FormPage, Page


class Account(FormPage):
    may = EVERYONE
    template = "web/account/account.html"
    form_class = MeForm
    title = "Your account"
    done = "Your details are saved."

    def initial(self) -> dict[str, Any]:
        return MeForm.of(self.person)

    def context(self) -> dict[str, Any]:
        now = timezone.now()
        return {
            "tokens": Token.objects.filter(person=self.person).valid_at(now),
            "browsers": sign_ins.browsers_of(self.person, now),
            "this_session": self.request.session.session_key,
        }

    def carry_out(self, form: MeForm) -> str:
        services.change_person(self.person, form.cleaned_data, timezone.now())
        return reverse("web:account")


class ChangePassword(FormPage):
    may = EVERYONE
    form_class = ChangePasswordForm
    holds_typing = False
    title = "Change your password"
    intro = "Every other browser, phone and program that is signed in as you is signed out."
    send_label = "Change it"
    done = "Your password is changed, and every other sign-in has ended."

    def context(self) -> dict[str, Any]:
        return {"back": reverse("web:account")}

    def carry_out(self, form: ChangePasswordForm) -> str:
        given = form.cleaned_data
        services.change_password(
            self.person, given["current_password"], given["new_password"], timezone.now()
        )
        update_session_auth_hash(self.request, self.person)
        sign_ins.remember(self.request, self.person)
        return reverse("web:account")


class EndToken(Deed):
    may = EVERYONE
    done = "That sign-in has ended."

    def back(self) -> str:
        return reverse("web:account")

    def carry_out(self) -> str:
        tokens = Token.objects.filter(person=self.person, pk=self.kwargs["pk"])
        if not tokens.exists():
            raise Http404
        services.withdraw_tokens(tokens, timezone.now())
        return self.back()


class EndSession(Deed):
    may = EVERYONE
    done = "That browser is signed out."

    def back(self) -> str:
        return reverse("web:account")

    def carry_out(self) -> str:
        sessions = PageSession.objects.filter(person=self.person, pk=self.kwargs["pk"])
        if not services.end_page_sessions(sessions):
            raise Http404
        return self.back()


class Help(Page):
    may = EVERYONE
    template = "web/help.html"

    def context(self) -> dict[str, Any]:
        return {"title": "Help"}
