"""Pages are looked at and take forms; whatever else is tried is told so in words. The API has its own answers."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render

OF_PAGES = ("GET", "HEAD", "POST")
API = "/api/"


class PageMethods:
    """405 for a method that no page has, and a page of words for every 405 of a page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path_info.startswith(API):
            return self.get_response(request)
        answer = self.get_response(request) if request.method in OF_PAGES else HttpResponseNotAllowed(OF_PAGES)
        if answer.status_code == HttpResponseNotAllowed.status_code and not answer.content:
            worded = render(request, "405.html", status=answer.status_code)
            worded["Allow"] = answer["Allow"]
            return worded
        return answer
