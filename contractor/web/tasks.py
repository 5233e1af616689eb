"""What the queue does for the pages: letters with a link to set a password."""

from __future__ import annotations

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse

from contractor.accounts.models import Person
from contractor.accounts.services import password_link_secret
from contractor.workqueue import kinds
from contractor.workqueue.handlers import handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress

PASSWORD_LETTER = kinds.declare("password_letter", "send somebody a link with which to set a password")


def register() -> None:
    """The handlers below are known once this module is imported."""


@handles(PASSWORD_LETTER)
def password_letter(item: WorkItem, progress: Progress, /) -> dict[str, str]:
    """The secret is made here, so that it stands in no row of the queue."""
    person = Person.objects.filter(pk=item.subject, is_active=True).first()
    if person is None:
        return {"sent": "no"}
    path = reverse("web:set-password", args=[password_link_secret(person)])
    context = {
        "person": person,
        "address": item.payload["site"].rstrip("/") + path,
        "days": settings.PASSWORD_RESET_TIMEOUT // 86400,
    }
    words = render_to_string("web/account/password_letter.txt", context)
    send_mail("Set your password for Waterside", words, settings.DEFAULT_FROM_EMAIL, [person.email])
    return {"sent": "yes"}
