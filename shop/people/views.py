"""Pages about people, their settings and the room."""

from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.people.forms import SignInForm


class SignIn(LoginView):
    template_name = "people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: SignInForm) -> HttpResponse:
        response = super().form_invalid(form)
        response.status_code = 422
        return response


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


@require_safe
def more(request: HttpRequest) -> HttpResponse:
    """What the phone's bar has no room for."""
    return render(request, "people/more.html")
