"""Sign-in, one's own account, tokens, and people."""

from __future__ import annotations

from typing import Any, cast

import django_filters
from django.conf import settings
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import BaseRouter

from contractor.accounts import guard, services
from contractor.accounts.models import Certificate, Person, Role, Token
from contractor.http.etags import check_if_match, etag_of, not_changed
from contractor.http.permissions import CREW, EVERYONE, OFFICE, OWNER
from contractor.http.serializers import RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import FullRoomViewSet, ReadOnlyRoomViewSet, RoomView


class PersonSerializer(RoomModelSerializer):
    class Meta:
        model = Person
        fields = ["id", "email", "name", "role", "phone", "units", "decimal_mark", "is_active",
                  "last_login", "version", "created_at", "changed_at"]  # fmt: skip
        read_only_fields = ["id", "last_login", "version", "created_at", "changed_at"]
        extra_kwargs = {"last_login": {"help_text": "last sign-in with a password, UTC"}}

    def validate_email(self, value: str) -> str:
        value = value.strip().lower()
        others = Person.objects.exclude(pk=self.instance.pk if self.instance else None)
        if others.filter(email=value).exists():
            raise serializers.ValidationError("Another person has this address; expected one of their own.")
        return value


class MeSerializer(PersonSerializer):
    """Name, phone and units are one's own to change; the rest is the owner's."""

    class Meta(PersonSerializer.Meta):
        read_only_fields = [*PersonSerializer.Meta.read_only_fields, "email", "role", "is_active"]


class SignInSerializer(RoomSerializer):
    email = serializers.EmailField(help_text="e-mail address of the account")
    password = serializers.CharField(
        max_length=1024, trim_whitespace=False, write_only=True, help_text="password of the account"
    )
    device = serializers.CharField(
        max_length=80, help_text="name of the phone or program, for the list of tokens"
    )


class SignedInSerializer(RoomSerializer):
    token = serializers.CharField(
        help_text="the secret, shown this once; send it as 'Authorization: Bearer ...'"
    )
    expires_at = serializers.DateTimeField(help_text="when the token ends by itself, UTC")
    person = PersonSerializer(help_text="who signed in")


class NewPasswordSerializer(RoomSerializer):
    current_password = serializers.CharField(
        max_length=1024, trim_whitespace=False, help_text="the password until now"
    )
    new_password = serializers.CharField(
        max_length=1024,
        trim_whitespace=False,
        help_text="the new one: 12 characters or more, not a common one",
    )


class PasswordByLinkSerializer(RoomSerializer):
    secret = serializers.CharField(max_length=300, help_text="the secret that the owner handed over")
    new_password = serializers.CharField(
        max_length=1024,
        trim_whitespace=False,
        help_text="the new one: 12 characters or more, not a common one",
    )


class PasswordLinkSerializer(RoomSerializer):
    secret = serializers.CharField(
        help_text="to hand to the person, for POST /api/v1/set-password/; holds once"
    )
    holds_for_s = serializers.IntegerField(help_text="how long it holds [s]")


class TokenSerializer(RoomModelSerializer):
    person = serializers.UUIDField(
        source="person_id", read_only=True, help_text="id of the person it signs in"
    )

    class Meta:
        model = Token
        fields = ["id", "person", "name", "created_at", "expires_at", "last_used_at", "withdrawn_at"]
        read_only_fields = fields
        extra_kwargs = {"id": {"help_text": "number of the token"}}


class SignInView(RoomView):
    one_transaction = False
    permission_classes = (AllowAny,)
    authentication_classes = ()

    @extend_schema(request=SignInSerializer, responses={200: SignedInSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        """A token for an e-mail address and password.

        Ten wrong ones in a quarter of an hour, and it takes a rest.
        """
        sent = SignInSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        token, secret = services.sign_in(
            **sent.validated_data, address=guard.address_of(request), now=timezone.now()
        )
        answer = {"token": secret, "expires_at": token.expires_at, "person": token.person}
        return Response(SignedInSerializer(answer).data, headers={"Cache-Control": "no-store"})


class SignOutView(RoomView):
    takes_nothing = frozenset({"post"})

    @extend_schema(request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        """Withdraws the token of this request."""
        if isinstance(request.auth, Token):
            services.withdraw_tokens(Token.objects.filter(pk=request.auth.pk), timezone.now())
        return Response(status=204)


class MeView(RoomView):
    @extend_schema(responses=MeSerializer)
    def get(self, request: Request) -> Response:
        """One's own account."""
        me = cast(Person, request.user)
        if not_changed(request, me):
            return Response(status=304, headers={"ETag": etag_of(me) or ""})
        return Response(MeSerializer(me).data, headers={"ETag": etag_of(me) or ""})

    @extend_schema(request=MeSerializer, responses=MeSerializer)
    def patch(self, request: Request) -> Response:
        """Change one's own name, telephone number or units."""
        me = cast(Person, request.user)
        check_if_match(request, me)
        sent = MeSerializer(me, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        me = services.change_person(me, dict(sent.validated_data), timezone.now())
        return Response(MeSerializer(me).data, headers={"ETag": etag_of(me) or ""})


class ChangePasswordView(RoomView):
    @extend_schema(request=NewPasswordSerializer, responses={204: None})
    def post(self, request: Request) -> Response:
        """A new password; every other sign-in of this person ends."""
        sent = NewPasswordSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        services.change_password(
            cast(Person, request.user),
            sent.validated_data["current_password"],
            sent.validated_data["new_password"],
            timezone.now(),
            but=request.auth if isinstance(request.auth, Token) else None,
        )
        return Response(status=204)


class SetPasswordView(RoomView):
    permission_classes = (AllowAny,)
    authentication_classes = ()

    @extend_schema(request=PasswordByLinkSerializer, responses={204: None}, auth=[])
    def post(self, request: Request) -> Response:
        """A first password, or one for a forgotten one, with the secret that the owner handed over."""
        sent = PasswordByLinkSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        services.set_password_by_link(
            sent.validated_data["secret"], sent.validated_data["new_password"], timezone.now()
        )
        return Response(status=204)


class PersonFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    class Meta:
        model = Person
        fields = {"role": ["exact"], "is_active": ["exact"], "name": ["icontains"], "email": ["exact"]}


class PersonViewSet(FullRoomViewSet):
    """People. The owner keeps them; the office sees the technicians."""

    model = Person
    serializer_class = PersonSerializer
    filterset_class = PersonFilters
    ordering_fields = ("email", "name", "created_at")
    takes_nothing = frozenset({"password_link", "end_sign_ins"})
    may = {
        "list": OFFICE,
        "retrieve": EVERYONE,
        "create": OWNER,
        "partial_update": OWNER,
        "password_link": OWNER,
        "end_sign_ins": OWNER,
    }

    def perform_create(self, serializer: Any) -> Person:
        fields = dict(serializer.validated_data)
        return Person.objects.create_user(fields.pop("email"), None, **fields)

    def perform_update(self, serializer: Any) -> Person:
        return services.change_person(serializer.instance, dict(serializer.validated_data), timezone.now())

    @extend_schema(request=None, responses={200: PasswordLinkSerializer})
    @action(detail=True, methods=["post"], url_path="password-link")
    def password_link(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """A secret with which the person sets a first password, or one in place of a forgotten one."""
        answer = {
            "secret": services.password_link_secret(self.get_object()),
            "holds_for_s": settings.PASSWORD_RESET_TIMEOUT,
        }
        return Response(PasswordLinkSerializer(answer).data, headers={"Cache-Control": "no-store"})

    @extend_schema(request=None, responses={204: None})
    @action(detail=True, methods=["post"], url_path="end-sign-ins")
    def end_sign_ins(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ends every token and session of the person, as for a lost phone."""
        services.end_every_sign_in(self.get_object(), timezone.now())
        return Response(status=204)


class FirmsPersonField(serializers.PrimaryKeyRelatedField[Any]):
    """Someone of the firm whom the asker may see."""

    def get_queryset(self) -> Any:
        request = self.context.get("request")
        if request is None or not getattr(request.user, "role", ""):
            return Person.objects.none()
        return Person.objects.seen_by(request.user).exclude(role=Role.CLIENT)


class CertificateSerializer(RoomModelSerializer):
    person = FirmsPersonField(queryset=Person.objects.all(), help_text="id of the person who holds it")
    fixed = frozenset({"person"})

    class Meta:
        model = Certificate
        fields = ["id", "person", "kind", "number", "expires_on", "version", "created_at", "changed_at"]
        read_only_fields = ["id", "version", "created_at", "changed_at"]

    def validate_person(self, value: Person) -> Person:
        if self.instance is not None and self.instance.person_id != value.pk:
            raise serializers.ValidationError("This cannot be changed; leave it out.", code="read_only")
        return value


class CertificateFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    class Meta:
        model = Certificate
        fields = {"person": ["exact"], "kind": ["exact"], "expires_on": ["lte"]}


class CertificateViewSet(FullRoomViewSet):
    """People's certificates and the days they hold until. The office keeps them."""

    model = Certificate
    serializer_class = CertificateSerializer
    filterset_class = CertificateFilters
    ordering_fields = ("expires_on", "created_at")
    related = ("person",)
    may = {"list": CREW, "retrieve": CREW, "create": OFFICE, "partial_update": OFFICE}


class TokenFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    class Meta:
        model = Token
        fields = {"person": ["exact"], "withdrawn_at": ["isnull"]}


class TokenViewSet(ReadOnlyRoomViewSet):
    """Sign-ins of phones and programs. One's own; the owner sees and withdraws everyone's."""

    model = Token
    serializer_class = TokenSerializer
    filterset_class = TokenFilters
    ordering_fields = ("created_at", "expires_at")
    lookup_value_converter = "int"
    takes_nothing = frozenset({"withdraw"})
    may = {"list": EVERYONE, "retrieve": EVERYONE, "withdraw": EVERYONE}

    @extend_schema(request=None, responses={204: None})
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ends the token at once. Withdrawing it again changes nothing."""
        services.withdraw_tokens(Token.objects.filter(pk=self.get_object().pk), timezone.now())
        return Response(status=204)


def register(router: BaseRouter) -> None:
    router.register("people", PersonViewSet, basename="person")
    router.register("people-certificates", CertificateViewSet, basename="certificate")
    router.register("tokens", TokenViewSet, basename="token")
