from django.apps import AppConfig


class TrailConfig(AppConfig):
    name = "contractor.trail"
    label = "trail"
    default_auto_field = "django.db.models.BigAutoField"
