from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "contractor.web"
    label = "web"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.web import rows, sign_ins, tasks

        sign_ins.connect()
        tasks.register()
        rows.show_every_table()
