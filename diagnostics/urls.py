from django.urls import path

from diagnostics.api import ReadingAssessmentViewSet
from diagnostics.detecting.api import ExchangerDetectabilityViewSet
from diagnostics.ranking.api import ReadingRankingViewSet

urlpatterns = [
    path(
        "exchangers/<uuid:pk>/detectability/",
        ExchangerDetectabilityViewSet.as_view({"get": "retrieve"}, detail=True),
        name="exchanger-detectability",
    ),
    path(
        "readings/<uuid:pk>/assessment/",
        ReadingAssessmentViewSet.as_view({"get": "retrieve"}, detail=True),
        name="reading-assessment",
    ),
    path(
        "readings/<uuid:pk>/ranking/",
        ReadingRankingViewSet.as_view({"get": "retrieve"}, detail=True),
        name="reading-ranking",
    ),
]
