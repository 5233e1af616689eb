"""The addresses of every record: list, new, the row, change, retire, bring back."""

from django.urls import URLPattern, path

from contractor.web.records import views
from contractor.web.records.kinds import KINDS, Kind


def addresses(kind: Kind) -> list[URLPattern]:
    slug, row = kind.slug, f"{kind.slug}/<uuid:pk>/"
    reading, writing = {"kind": kind}, {"kind": kind, "may": kind.may_write}
    found = [
        path(f"{slug}/", views.List.as_view(**reading), name=f"{slug}-list"),
        path(f"{slug}/new/", views.New.as_view(**writing), name=f"{slug}-new"),
        path(row, views.Show.as_view(**reading), name=f"{slug}-show"),
        path(f"{row}edit/", views.Edit.as_view(**writing), name=f"{slug}-edit"),
    ]
    if kind.retire:
        found.append(path(f"{row}retire/", views.End.as_view(**writing), name=f"{slug}-retire"))
    if kind.bring_back:
        found.append(path(f"{row}bring-back/", views.BringBack.as_view(**writing), name=f"{slug}-bring-back"))
    if kind.slug == "cleaners":
        found.append(path(f"{row}papers/", views.KeepPaper.as_view(**writing), name="cleaner-papers"))
    if kind.slug == "sites":
        keep = views.KeepAcceptance.as_view(**writing)
        found.append(path(f"{row}acceptance/", keep, name="site-acceptance"))
    return found


urlpatterns = [each for kind in KINDS.values() for each in addresses(kind)]
