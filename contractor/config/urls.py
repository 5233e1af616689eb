from django.urls import include, path

from contractor.config import health
from contractor.web import rows

urlpatterns = [
    path("healthz", health.health, name="health"),
    path("healthz/", health.health),
    path("healthz/live", health.live, name="live"),
    path("healthz/ready", health.ready, name="ready"),
    path("api/v1/", include("contractor.config.api_urls")),
    path("owner/rows/", rows.site.urls),
    path("", include("contractor.web.urls")),
]

handler400 = "contractor.http.errors.bad_request"
handler403 = "contractor.http.errors.forbidden"
handler404 = "contractor.http.errors.not_found"
handler500 = "contractor.http.errors.fault"
