from django.urls import path

from contractor.accounts import api

urlpatterns = [
    path("sign-in/", api.SignInView.as_view(), name="sign-in"),
    path("sign-out/", api.SignOutView.as_view(), name="sign-out"),
    path("me/", api.MeView.as_view(), name="me"),
    path("me/password/", api.ChangePasswordView.as_view(), name="me-password"),
    path("set-password/", api.SetPasswordView.as_view(), name="set-password"),
]
