"""The technician's pages; included under crew/ in the namespace web."""

from django.urls import path

from contractor.web.technician import views

urlpatterns = [
    path("", views.Visits.as_view(), name="crew"),
]
