from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class BearerScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "contractor.accounts.authentication.BearerAuthentication"
    name = "bearer"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {
            "type": "http",
            "scheme": "bearer",
            "description": "the secret that POST /api/v1/sign-in/ returned",
        }
