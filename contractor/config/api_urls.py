"""Every address under /api/v1/: each app's api registers its own on the router it is given."""

from django.urls import URLPattern, URLResolver

urlpatterns: list[URLPattern | URLResolver] = []
