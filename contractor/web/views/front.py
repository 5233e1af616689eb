"""The door: what stands at /, signing in and out, a forgotten password."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views import View
from django.views.decorators.cache import never_cache
from django.views.generic import RedirectView

from contractor.accounts import guard, services
from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.web.forms.account import ForgottenForm, NewPasswordForm, SignInForm
from contractor.web.navigation import home_of
from contractor.web.page import put_errors, told
from contractor.web.tasks import PASSWORD_LETTER
from contractor.workqueue.services import queue

FORGOTTEN_LIMIT = 5


@method_decorator(login_not_required, name="dispatch")
class Home(View):
    """To everyone's own first page; a stranger learns what this is and where programs go."""

    def get(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            return redirect(home_of(request.user.role))
        return render(request, "web/front.html", {"title": "Fouling told from gauges"})


@method_decorator(login_not_required, name="dispatch")
class Mark(RedirectView):
    """What browsers ask for beside what names no mark of its own: the owner's rows, JSON."""

    http_method_names = ["get", "head", "options"]

    def get_redirect_url(self, *args: Any, **kwargs: Any) -> str:
        return static("web/mark.svg")


@method_decorator(never_cache, name="dispatch")
class SignIn(LoginView):
    template_name = "web/account/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    extra_context = {"title": "Sign in"}

    def get_default_redirect_url(self) -> str:
        user: Any = self.request.user
        return home_of(user.role) if user.is_authenticated else "/"

    def form_invalid(self, form: Any) -> HttpResponse:
        response = super().form_invalid(form)
        if form.refused is not None:
            response.status_code = form.refused.status_code
            if wait := form.refused.headers.get("Retry-After"):
                response.headers["Retry-After"] = wait
        return response


class SignOut(LogoutView):
    http_method_names = ["post", "options"]

    def get_default_redirect_url(self) -> str:
        return reverse("web:sign-in")

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = super().post(request, *args, **kwargs)
        response.headers["Clear-Site-Data"] = '"cache"'
        return response


@method_decorator(login_not_required, name="dispatch")
class Forgotten(View):
    """The answer is the same whether or not anybody has that address."""

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.shown(ForgottenForm())

    def post(self, request: HttpRequest) -> HttpResponse:
        form = ForgottenForm(request.POST)
        if not form.is_valid():
            return self.shown(form, 400)
        email = form.cleaned_data["email"].strip().lower()
        if self.may_ask(email):
            self.send_letter(email)
        return render(
            request, "web/account/forgotten_sent.html", {"title": "Look in your mail", "email": email}
        )

    def may_ask(self, email: str) -> bool:
        """Neither an address nor a place can be made to receive or send letters without end."""
        now, place = timezone.now(), guard.address_of(self.request)
        counts = [guard.count_up(guard.key("letter", each), now) for each in (email, place)]
        return max(counts) <= FORGOTTEN_LIMIT

    def send_letter(self, email: str) -> None:
        person = Person.objects.filter(email=email, is_active=True).first()
        if person is not None:
            site = self.request.build_absolute_uri("/")
            queue(PASSWORD_LETTER, str(person.pk), payload={"site": site})

    def shown(self, form: ForgottenForm, status: int = 200) -> HttpResponse:
        context = {"title": "Set a new password", "form": form}
        return render(self.request, "web/account/forgotten.html", context, status=status)


@method_decorator([login_not_required, never_cache], name="dispatch")
class SetPassword(View):
    """With a secret that came by letter or from the owner's hand."""

    def get(self, request: HttpRequest, secret: str) -> HttpResponse:
        return self.shown(NewPasswordForm())

    def post(self, request: HttpRequest, secret: str) -> HttpResponse:
        form = NewPasswordForm(request.POST)
        if not form.is_valid():
            return self.shown(form, 400)
        try:
            services.set_password_by_link(secret, form.cleaned_data["new_password"], timezone.now())
        except Problem as problem:
            status, _, errors = told(problem)
            put_errors(form, errors)
            return self.shown(form, status)
        messages.success(request, "Your password is set. Sign in with it.")
        return HttpResponseRedirect(reverse("web:sign-in"))

    def shown(self, form: NewPasswordForm, status: int = 200) -> HttpResponse:
        context = {"title": "Set a new password", "form": form, "send_label": "Set it"}
        return render(self.request, "web/form.html", context, status=status)
