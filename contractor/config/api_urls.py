"""Every address under /api/v1/.

Each room's api registers its own on the router it is given, one line a room.
"""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from contractor.accounts import api as accounts
from contractor.descales import api as descales
from contractor.http.description import DescriptionView
from contractor.register import api as register
from contractor.visits import api as visits
from contractor.workqueue import api as workqueue
from diagnostics import api as diagnostics
from reporting import api as reporting

router = SimpleRouter(use_regex_path=False)
accounts.register(router)
workqueue.register(router)
register.register(router)
visits.register(router)
diagnostics.register(router)
descales.register(router)
reporting.register(router)

urlpatterns = [
    path("", include("contractor.accounts.urls")),
    path("", include("contractor.http.urls")),
    path("", include("diagnostics.urls")),
    path("schema/", DescriptionView.as_view(), name="schema"),
    *router.urls,
]
