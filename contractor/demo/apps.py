from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "contractor.demo"
    label = "demo"
