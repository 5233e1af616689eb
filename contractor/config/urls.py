from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("contractor.config.api_urls")),
]
