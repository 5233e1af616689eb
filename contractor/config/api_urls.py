"""Every address under /api/v1/.

Each room's api registers its own on the router it is given, one line a room.
"""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from contractor.accounts import api as accounts
from contractor.workqueue import api as workqueue

router = SimpleRouter(use_regex_path=False)
accounts.register(router)
workqueue.register(router)

urlpatterns = [
    path("", include("contractor.accounts.urls")),
    path("", include("contractor.http.urls")),
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    *router.urls,
]
