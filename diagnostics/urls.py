from django.urls import path

from diagnostics.api import ReadingAssessmentViewSet

urlpatterns = [
    path(
        "readings/<uuid:pk>/assessment/",
        ReadingAssessmentViewSet.as_view({"get": "retrieve"}, detail=True),
        name="reading-assessment",
    ),
]
