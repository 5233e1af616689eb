from django.urls import path

from contractor.http import api

urlpatterns = [
    path("problems/", api.ProblemTypesView.as_view(), name="problem-types"),
    path("problems/<slug:kind>/", api.ProblemTypeView.as_view(), name="problem-type"),
]
