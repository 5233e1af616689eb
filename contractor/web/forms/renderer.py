from django.forms.renderers import TemplatesSetting


class RoomRenderer(TemplatesSetting):
    """How every form looks: labels above, help at the field, errors tied to it, a summary on top."""

    form_template_name = "web/parts/form.html"
    field_template_name = "web/parts/field.html"
