from django.test import RequestFactory

from jobs.site.client_address import client_address


def test_a_visitor_cannot_choose_an_address(settings) -> None:
    request = RequestFactory().get("/", REMOTE_ADDR="10.0.0.7", HTTP_X_FORWARDED_FOR="1.1.1.1, 10.9.9.9")
    settings.BEHIND_PROXY = False
    assert client_address(request) == "10.0.0.7"
    settings.BEHIND_PROXY = True
    assert client_address(request) == "10.9.9.9"  # the last entry is our own proxy's
