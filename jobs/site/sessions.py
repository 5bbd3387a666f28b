"""Sessions, of which a request that came too late takes none away.

Somebody changes over or signs in while the device still fetches a page with the number of the session before. Django
answers a number that it no longer knows with the removal of the cookie, and that answer can arrive after the new
number: it would sign the person out again. The cookie is removed only by the request that ended the session.
"""

from django.conf import settings
from django.contrib.sessions.middleware import SessionMiddleware
from django.http import HttpRequest, HttpResponse


class LateRequestsEndNothing(SessionMiddleware):
    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        answer = super().process_response(request, response)
        cookie = answer.cookies.get(settings.SESSION_COOKIE_NAME)
        if cookie is not None and not cookie.value and not request.session.modified:
            del answer.cookies[settings.SESSION_COOKIE_NAME]
        return answer
