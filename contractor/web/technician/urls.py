"""The technician's pages; included under crew/ in the namespace web."""

from django.urls import path

from contractor.web.technician import descales, open_at, tags, told, views, worker

urlpatterns = [
    path("", views.Visits.as_view(), name="crew"),
    path("who/", worker.Who.as_view(), name="crew-who"),
    path("open-at/<uuid:pk>/", open_at.OpenAt.as_view(), name="crew-open-at"),
    path("unsent/", views.Unsent.as_view(), name="crew-unsent"),
    path("tag/", views.Tag.as_view(), name="crew-tag"),
    path("visits/<uuid:pk>/", views.OneVisit.as_view(), name="crew-visit"),
    path("visits/<uuid:pk>/survey/", views.Survey.as_view(), name="crew-survey"),
    path("sites/<uuid:pk>/tags/", tags.TagSheet.as_view(), name="tag-sheet"),
    path("units/<uuid:pk>/", views.OneUnit.as_view(), name="crew-unit"),
    path("exchangers/<uuid:pk>/reading/", views.Read.as_view(), name="crew-read"),
    path("readings/<uuid:pk>/told/", told.Told.as_view(), name="crew-told"),
    path("descales/<uuid:pk>/", descales.OneDescale.as_view(), name="crew-descale"),
]
