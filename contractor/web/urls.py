"""Every page, by whom it is for. A new page: a class in views/, a line here, a row in tests/access/web.py."""

from django.urls import include, path

from contractor.web.views import account, client, front, office

app_name = "web"
urlpatterns = [
    path("", front.Home.as_view(), name="home"),
    path("sign-in/", front.SignIn.as_view(), name="sign-in"),
    path("sign-out/", front.SignOut.as_view(), name="sign-out"),
    path("forgotten/", front.Forgotten.as_view(), name="forgotten"),
    path("set-password/<str:secret>/", front.SetPassword.as_view(), name="set-password"),
    path("account/", account.Account.as_view(), name="account"),
    path("account/password/", account.ChangePassword.as_view(), name="password"),
    path("account/tokens/<int:pk>/end/", account.EndToken.as_view(), name="end-token"),
    path("account/sessions/<int:pk>/end/", account.EndSession.as_view(), name="end-session"),
    path("help/", account.Help.as_view(), name="help"),
    path("office/", office.ToDo.as_view(), name="office"),
    path("office/search/", office.Search.as_view(), name="search"),
    path("office/", include("contractor.web.records.urls")),
    path("client/", client.Sites.as_view(), name="client"),
    path("crew/", include("contractor.web.technician.urls")),
]
