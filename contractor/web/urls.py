"""Every page, by whom it is for. A new page: a class in views/, a line here, a row in tests/access/web.py."""

from django.urls import include, path

from contractor.web.technician import views as technician
from contractor.web.technician import worker
from contractor.web.views import account, client, documents, front, office, readings, search, visits, work

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
    path("office/search/", search.Search.as_view(), name="search"),
    path("office/register/", office.Register.as_view(), name="register"),
    path("office/visits/", visits.Visits.as_view(), name="visits"),
    path("office/visits/new/", visits.Book.as_view(), name="book"),
    path("office/visits/<uuid:pk>/", visits.ShowVisit.as_view(), name="visit"),
    path("office/visits/<uuid:pk>/move/", visits.MoveVisit.as_view(), name="move-visit"),
    path("office/visits/<uuid:pk>/call-off/", visits.CallOff.as_view(), name="call-off"),
    path("office/readings/<uuid:pk>/", readings.ShowReading.as_view(), name="reading"),
    path("office/readings/<uuid:pk>/correct/", readings.CorrectReading.as_view(), name="correct-reading"),
    path("office/readings/<uuid:pk>/move/", readings.MoveReading.as_view(), name="move-reading"),
    path("office/readings/<uuid:pk>/set-aside/", readings.SetAsideReading.as_view(), name="set-aside"),
    path("office/documents/", documents.Documents.as_view(), name="documents"),
    path("office/documents/<uuid:pk>/", documents.ShowDocument.as_view(), name="document"),
    path("office/documents/<uuid:pk>/release/", documents.Release.as_view(), name="release"),
    path("office/documents/<uuid:pk>/withdraw/", documents.Withdraw.as_view(), name="withdraw"),
    path("office/documents/<uuid:pk>/send/", documents.Send.as_view(), name="send-document"),
    path("office/exchangers/<uuid:pk>/report/", documents.AskForReport.as_view(), name="ask-for-report"),
    path("office/people/<uuid:pk>/letter/", office.SendPasswordLetter.as_view(), name="password-letter"),
    path("office/people/<uuid:pk>/link/", office.PasswordLink.as_view(), name="password-link"),
    path("office/people/<uuid:pk>/end-sign-ins/", office.EndSignIns.as_view(), name="end-sign-ins"),
    path("office/work/", work.Work.as_view(), name="work"),
    path("office/work/<uuid:pk>/retry/", work.Retry.as_view(), name="retry"),
    path("office/", include("contractor.web.records.urls")),
    path("client/", client.Sites.as_view(), name="client"),
    path("client/sites/<uuid:pk>/", client.OneSite.as_view(), name="client-site"),
    path("client/units/<uuid:pk>/", client.OneUnit.as_view(), name="client-unit"),
    path("crew/", include("contractor.web.technician.urls")),
    path("t/<path:code>/", technician.ScannedTag.as_view(), name="scanned-tag"),
    path("worker.js", worker.Worker.as_view(), name="worker"),
]
