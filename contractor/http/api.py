"""What each kind of problem means, at the address its `type` names. Open to everyone: it is documentation."""

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.problem_types import KNOWN_TYPES, type_address
from contractor.http.serializers import RoomSerializer
from contractor.http.viewsets import RoomView


class ProblemTypeSerializer(RoomSerializer):
    type = serializers.CharField(help_text="address that problem details carry in `type`")
    status = serializers.IntegerField(help_text="HTTP status code it comes with")
    title = serializers.CharField(help_text="the kind of problem in a few words")
    meaning = serializers.CharField(help_text="what it means and what to do")


def described(kind: str) -> dict[str, object]:
    known = KNOWN_TYPES[kind]
    return {
        "type": type_address(kind),
        "status": known.status,
        "title": known.title,
        "meaning": known.meaning,
    }


class ProblemTypesView(RoomView):
    permission_classes = (AllowAny,)
    authentication_classes = ()

    @extend_schema(responses=ProblemTypeSerializer(many=True), auth=[])
    def get(self, request: Request) -> Response:
        """Every kind of problem that this API tells apart."""
        return Response([described(kind) for kind in sorted(KNOWN_TYPES)])


class ProblemTypeView(RoomView):
    permission_classes = (AllowAny,)
    authentication_classes = ()

    @extend_schema(responses=ProblemTypeSerializer, auth=[])
    def get(self, request: Request, kind: str) -> Response:
        """What one kind of problem means."""
        if kind not in KNOWN_TYPES:
            raise Http404
        return Response(described(kind))
