"""The addresses of the service, and beside them the least that could answer with the same rows."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.urls import path

from contractor.config.urls import urlpatterns as service
from contractor.register.models import Unit

COLUMNS = [
    "id", "site", "tag", "place", "model", "serial", "kind", "refrigerant", "capacity_w", "stages",
    "expansion", "receiver", "head_pressure_valve", "hot_gas_reheat", "desuperheater_coil",
    "vapour_injection", "fan_power_w", "high_head_cutout_pa_gauge",
    "low_suction_cutout_pa_gauge", "freeze_cutout_k", "low_side_rating_pa_gauge", "relief_setting_pa_gauge",
    "loop", "operating_table", "safety_notes", "notes", "as_typed", "retired_at", "version", "created_at",
    "changed_at",
]  # fmt: skip


@login_not_required
def units(request: HttpRequest) -> JsonResponse:
    return JsonResponse({"rows": list(Unit.objects.order_by("tag", "pk").values(*COLUMNS)[:50])})


urlpatterns = [*service, path("plain/units/", units)]
