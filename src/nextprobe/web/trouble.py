"""The one shape of an error, and which status an exception has."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import Response

from nextprobe.errors import (
    DataError,
    Finding,
    NextprobeError,
    RepeatedKeyError,
    SettingError,
    Severity,
    SolverError,
    StoreConflictError,
    StoreDamagedError,
    StoreError,
    StoreLockedError,
    UnknownStepError,
    Where,
)

_log = logging.getLogger("nextprobe.web")

Answering = Callable[[Request, Exception], Response]
AsPage = Callable[[Request, int, Mapping[str, Any]], Response | None]


class Place(BaseModel):
    """The place in somebody's data that a finding speaks of."""

    source: str = ""
    line: int | None = Field(None, description="counted from 1")
    column: int | None = Field(None, description="counted from 1")
    name: str | None = Field(None, description="the field, part or net that is meant")


class FindingShown(BaseModel):
    """Something wrong with data, or worth saying about it."""

    severity: Severity
    what: str
    where: Place
    remedy: str


class ErrorSaid(BaseModel):
    """What went wrong."""

    kind: str = Field(description="one word or two, for programs")
    says: str = Field(description="a sentence, for people")
    where: str = Field(description="the place in what was sent; empty if it is the whole")
    try_: str = Field("", alias="try", description="what to do about it")
    findings: list[FindingShown] = Field(
        default_factory=list, description="all that was found, where it is more than one thing"
    )


class ErrorAnswer(BaseModel):
    """The body of every answer that is not a success."""

    error: ErrorSaid


class NotHereError(NextprobeError):
    """There is nothing of that name."""


class RefusedError(NextprobeError):
    """A request that is refused for what it is, with its status and kind."""

    def __init__(self, status: int, kind: str, says: str, remedy: str = "") -> None:
        self.status, self.kind, self.remedy = status, kind, remedy
        super().__init__(says)


_KINDS: Sequence[tuple[type[NextprobeError], int, str, str]] = (
    (NotHereError, 404, "not found", "look at the list of what there is"),
    (RepeatedKeyError, 409, "repeated key", "make a new key for each new entry"),
    (UnknownStepError, 422, "unknown step", "take a step from the list of next steps"),
    (SettingError, 422, "setting", "choose a setting within the range of the instrument"),
    (DataError, 422, "data", ""),
    (SolverError, 422, "solver", "look at what was last added to the board"),
    (StoreLockedError, 423, "store locked", "try again"),
    (StoreConflictError, 409, "conflict", "read again and repeat"),
    (StoreDamagedError, 503, "store damaged", "go back to a copy of the file"),
    (StoreError, 503, "store", "make the folder of jobs usable, then try again"),
    (NextprobeError, 422, "misuse", "change the request"),
)
_HTTP = {
    400: ("invalid", "send what the description of the interface says"),
    404: ("not found", "look at /api/v1/openapi.json for what there is"),
    405: ("method", "use a method that this address takes"),
    413: ("too large", "send less"),
}


def error_json(
    kind: str, says: str, where: str = "", remedy: str = "", findings: Sequence[Finding] = ()
) -> dict[str, Any]:
    """Return the body of an error."""
    shown = [finding_json(finding) for finding in findings] if len(findings) > 1 else []
    said = {"kind": kind, "says": says, "where": where, "try": remedy, "findings": shown}
    return {"error": said}


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain JSON."""
    return {
        "severity": finding.severity.value,
        "what": finding.what,
        "where": dict(vars(finding.where)),
        "remedy": finding.remedy,
    }


def error_of(error: NextprobeError) -> tuple[int, dict[str, Any]]:
    """Return status and body of an exception of Nextprobe."""
    if isinstance(error, RefusedError):
        return error.status, error_json(error.kind, str(error), remedy=error.remedy)
    status, kind, remedy = next(
        (status, kind, remedy) for base, status, kind, remedy in _KINDS if isinstance(error, base)
    )
    if isinstance(error, DataError) and error.findings:
        first = error.findings[0]
        return status, error_json(kind, first.what, str(first.where), first.remedy, error.findings)
    return status, error_json(kind, str(error), remedy=remedy)


def answer(
    status: int, body: Mapping[str, Any], headers: Mapping[str, str] | None = None
) -> Response:
    """Return an error as an answer; text that UTF-8 can not hold is escaped."""
    content = json.dumps(body, ensure_ascii=True)
    return Response(content, status, dict(headers or {}), "application/json")


def answer_errors(app: FastAPI, as_page: AsPage) -> None:
    """Have an application answer every error in the one shape, or as a page to who wants one.

    Parameters
    ----------
    app : FastAPI
    as_page : callable
        Returns an error as a page, from the request, its status and what is said of it; None where
        no page was asked for.
    """

    def shown(plain: Answering) -> Answering:
        def answered(request: Request, error: Exception) -> Response:
            found = plain(request, error)
            said = json.loads(bytes(found.body))["error"]
            return as_page(request, found.status_code, said) or found

        return answered

    app.add_exception_handler(NextprobeError, shown(_ours))
    app.add_exception_handler(RequestValidationError, shown(_invalid))
    app.add_exception_handler(HTTPException, shown(_http))
    app.add_exception_handler(Exception, shown(_unforeseen))


def _ours(_request: Request, error: Exception) -> Response:
    assert isinstance(error, NextprobeError)
    status, body = error_of(error)
    headers = {"Retry-After": "1"} if status == 423 else None
    return answer(status, body, headers)


def _invalid(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    found = [_problem(item) for item in error.errors()]
    first = found[0]
    body = error_json("invalid", first.what, str(first.where), first.remedy, found)
    return answer(422, body)


def _problem(item: Mapping[str, Any]) -> Finding:
    """Return a problem of pydantic without what was sent, which may be a secret."""
    place, *path = item["loc"] or ("body",)
    name = ".".join(str(step) for step in path)
    return Finding(
        str(item["msg"]), Where(str(place), name=name or None), "see /api/v1/openapi.json"
    )


def _http(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    kind, remedy = _HTTP.get(error.status_code, ("refused", ""))
    body = error_json(kind, str(error.detail), remedy=remedy)
    return answer(error.status_code, body, error.headers)


def _unforeseen(_request: Request, error: Exception) -> Response:
    _log.error("an error that nobody foresaw: %s", type(error).__name__, exc_info=error)
    says = "something went wrong that nobody foresaw; what was recorded before is safe"
    body = error_json("unforeseen", says, remedy="please report it, with the server's log")
    return answer(500, body)
