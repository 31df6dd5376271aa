"""A typed client for the service, with the values that the service itself uses.

with Knockon("http://127.0.0.1:8765", key=…) as knockon:
    answer = knockon.plans("Wether W2 late", ["HD rear hub"])
    print(answer.plans[0].cost_eur, answer.cautions)
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import TracebackType
from typing import Any, Self, TypeVar
from urllib.parse import quote

import httpx2
from pydantic import BaseModel, TypeAdapter

from ..query.answer import Answer
from ..query.phrases import CarName, PartName, StationName
from ..query.report import Reply, Report
from ..query.syntax import Change, Fitting, Terms
from . import bodies as b
from . import things as t
from .negotiate import CSV
from .paging import Page
from .routes.builds import BuildContent, SavedBuildNote
from .routes.jobs import BeginKitChoice, BeginQuestions, JobNote
from .routes.saved_questions import SavedQuestionMade
from .routes.stock import StockList, StockListed, StockRow
from .routes.system import Health

M = TypeVar("M", bound=BaseModel)
_REPLY: TypeAdapter[Answer | Report] = TypeAdapter(Reply)
_LONGEST_PAUSE = 10.0


class ApiProblem(Exception):
    """The service said no. `slug` tells which sort of problem; `more` has the rest of it."""

    def __init__(self, status: int, slug: str, detail: str, more: Mapping[str, Any]) -> None:
        super().__init__(f"{status} {slug}: {detail}")
        self.status, self.slug, self.detail, self.more = status, slug, detail, dict(more)


class NotUnderstood(ApiProblem):
    """422: the question or the request; `nearest`, `expected` and `corrected` are in `more`."""


class NotAllowed(ApiProblem):
    """401 or 403: no key, or not one that may do that."""


class NotThere(ApiProblem):
    """404: there is no such thing."""


class Conflicting(ApiProblem):
    """409, 412 or 428: it was changed meanwhile, or something is in the way."""


class TooMuch(ApiProblem):
    """429, 503 or 504: too often, or too much at once; `retry_after` is in seconds."""

    def __init__(self, *args: Any, retry_after: float = 1.0) -> None:
        super().__init__(*args)
        self.retry_after = retry_after


class Unreachable(Exception):
    """The service cannot be reached, or does not answer as it should."""


_SORTS: dict[int, type[ApiProblem]] = {
    401: NotAllowed, 403: NotAllowed, 404: NotThere, 409: Conflicting, 412: Conflicting,
    422: NotUnderstood, 428: Conflicting, 429: TooMuch, 503: TooMuch, 504: TooMuch,
}  # fmt: skip


class Knockon:
    """Asks one service. `tries` is how often something is asked that the service was too busy for.

    Raises (every method): ApiProblem, by sort; Unreachable.
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8765",
        key: str | None = None,
        *,
        seconds: float = 60.0,
        tries: int = 3,
        http: httpx2.Client | None = None,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._http = http or httpx2.Client(base_url=address, timeout=seconds)
        self._headers = {} if key is None else {"Authorization": f"Bearer {key}"}
        self._tries, self._sleep = tries, sleep

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the connections."""
        self._http.close()

    # ------------------------------------------------------------------ questions

    def ask(self, question: str, *, after: str = "", plans: int = 3) -> Answer | Report:
        """The answer to a sentence."""
        return self._reply("/v1/ask", b.Question(question=question, after=after, plans=plans))

    def plans(
        self, car: str, fit: Iterable[str], *, terms: Terms | None = None, plans: int = 3
    ) -> Answer:
        """What else must change if these parts are fitted, with the best plans."""
        body = b.AskPlans(change=change(car, fit, terms), plans=plans)
        return self._answer("/v1/plans", body)

    def knock_ons(self, car: str, fit: Iterable[str], *, terms: Terms | None = None) -> Answer:
        """What else must change, without plans."""
        return self._answer("/v1/knock-ons", b.AskKnockOns(change=change(car, fit, terms)))

    def why_must(self, station: str, car: str, fit: Iterable[str]) -> Answer | Report:
        """Why the part at a station must change."""
        asked = b.AskWhyMust.model_validate({"change": change(car, fit, None), "station": station})
        return self._reply("/v1/why-must", asked)

    def why_not(self, part: str, car: str, fit: Iterable[str]) -> Answer | Report:
        """Why a part cannot be used."""
        asked = b.AskWhyNot.model_validate({"change": change(car, fit, None), "part": part})
        return self._reply("/v1/why-not", asked)

    def job_sheet(
        self, car: str, fit: Iterable[str], *, terms: Terms | None = None, plan: int = 1
    ) -> str:
        """The sheet of one plan for the workshop, as Markdown."""
        body = b.AskJobSheet(change=change(car, fit, terms), plan=plan)
        return self._send("POST", "/v1/job-sheet", body).text

    # ------------------------------------------------------------------ the catalogue

    def health(self) -> Health:
        """Whether the service is up, and what it answers from."""
        return self._get(Health, "/v1/health")

    def car(self, car: str) -> t.CarDetail:
        """One car."""
        return self._get(t.CarDetail, f"/v1/cars/{quote(car, safe='')}")

    def part(self, part: str) -> t.PartDetail:
        """One part."""
        return self._get(t.PartDetail, f"/v1/parts/{quote(part, safe='')}")

    def cars(self, words: str = "") -> Iterator[t.CarItem]:
        """All cars whose names hold these words."""
        return self._pages(Page[t.CarItem], "/v1/cars", {"q": words})

    def parts(self, words: str = "", *, station: str = "") -> Iterator[t.PartItem]:
        """All parts whose names hold these words, at a station if one is given."""
        return self._pages(Page[t.PartItem], "/v1/parts", {"q": words, "station": station})

    # ------------------------------------------------------------------ builds and stock

    def builds(self) -> Iterator[SavedBuildNote]:
        """Your saved builds."""
        return self._pages(Page[SavedBuildNote], "/v1/builds", {})

    def build(self, name: str) -> tuple[SavedBuildNote, str]:
        """One of your builds, and its ETag."""
        response = self._send("GET", _build(name))
        return SavedBuildNote.model_validate_json(response.content), response.headers["etag"]

    def save_build(
        self,
        name: str,
        car: str,
        fits: Mapping[str, str | None],
        *,
        replacing: str | None = None,
        once: str | None = None,
    ) -> tuple[SavedBuildNote, str]:
        """Save a build; `replacing` is the ETag of the one that it replaces, if it does.

        `once` is an Idempotency-Key: the same one sent again does nothing twice.
        """
        body = BuildContent(car=car, fits=dict(fits))
        headers = {"If-None-Match": "*"} if replacing is None else {"If-Match": replacing}
        if once is not None:
            headers["Idempotency-Key"] = once
        response = self._send("PUT", _build(name), body, headers)
        return SavedBuildNote.model_validate_json(response.content), response.headers["etag"]

    def drop_build(self, name: str, tag: str) -> None:
        """Forget the build with this ETag."""
        self._send("DELETE", _build(name), headers={"If-Match": tag})

    def stock(self) -> tuple[StockListed, str]:
        """The stock, and its ETag."""
        response = self._send("GET", "/v1/stock")
        return StockListed.model_validate_json(response.content), response.headers["etag"]

    def replace_stock(self, rows: Iterable[StockRow] | str, tag: str) -> StockListed:
        """Put rows, or the text of a CSV file, in place of the stock with this ETag."""
        headers = {"If-Match": tag}
        if isinstance(rows, str):
            headers["Content-Type"] = CSV
            response = self._send("PUT", "/v1/stock", rows, headers)
        else:
            response = self._send("PUT", "/v1/stock", StockList(items=tuple(rows)), headers)
        return StockListed.model_validate_json(response.content)

    def save_question(self, question: str, deliver_to: str) -> SavedQuestionMade:
        """Be told when the answer changes; the secret that is returned is shown only now."""
        body = {"question": question, "deliver_to": deliver_to}
        response = self._http_send("POST", "/v1/saved-questions", {"json": body}, {})
        return SavedQuestionMade.model_validate_json(response.content)

    # ------------------------------------------------------------------ jobs

    def begin(self, work: BeginKitChoice | BeginQuestions) -> JobNote:
        """Begin long work."""
        kind = "kit-choice" if isinstance(work, BeginKitChoice) else "questions"
        return JobNote.model_validate_json(self._send("POST", f"/v1/jobs/{kind}", work).content)

    def job(self, job: str) -> JobNote:
        """How far a job is."""
        return self._get(JobNote, f"/v1/jobs/{quote(job, safe='')}")

    def follow(self, job: str) -> Iterator[JobNote]:
        """The job each time it goes on, the last time with its result."""
        with self._http.stream(
            "GET", f"/v1/jobs/{quote(job, safe='')}/events", headers=self._headers
        ) as response:
            if not response.is_success:
                response.read()
                raise _problem(response)
            for line in response.iter_lines():
                if line.startswith("data:"):
                    note = JobNote.model_validate_json(line.removeprefix("data:"))
                    yield note if note.state in ("waiting", "running") else self.job(job)

    def cancel(self, job: str) -> None:
        """Stop a job."""
        self._send("DELETE", f"/v1/jobs/{quote(job, safe='')}")

    # ------------------------------------------------------------------ inside

    def _reply(self, path: str, body: BaseModel) -> Answer | Report:
        return _REPLY.validate_json(self._send("POST", path, body).content)

    def _answer(self, path: str, body: BaseModel) -> Answer:
        return Answer.model_validate_json(self._send("POST", path, body).content)

    def _get(self, model: type[M], path: str) -> M:
        return model.model_validate_json(self._send("GET", path).content)

    def _pages(self, model: type[Page[M]], path: str, query: Mapping[str, str]) -> Iterator[M]:
        asked = {name: value for name, value in query.items() if value}
        cursor: str | None = ""
        while cursor is not None:
            more = {"params": {**asked, **({"cursor": cursor} if cursor else {})}}
            page = model.model_validate_json(self._http_send("GET", path, more, {}).content)
            yield from page.items
            cursor = page.next

    def _send(
        self,
        method: str,
        path: str,
        body: BaseModel | str | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> httpx2.Response:
        said: dict[str, Any] = {}
        more = dict(headers or {})
        if isinstance(body, BaseModel):
            said["content"] = body.model_dump_json(exclude_none=not isinstance(body, BuildContent))
            more.setdefault("Content-Type", "application/json")
        elif body is not None:
            said["content"] = body.encode()
        return self._http_send(method, path, said, more)

    def _http_send(
        self, method: str, path: str, said: Mapping[str, Any], headers: Mapping[str, str]
    ) -> httpx2.Response:
        # What was refused for want of room was not done, so it may be sent again.
        for left in range(self._tries - 1, -1, -1):
            try:
                response = self._http.request(
                    method, path, headers={**self._headers, **headers}, **said
                )
            except httpx2.HTTPError as error:
                raise Unreachable(f"{type(error).__name__}: {error}") from error
            if response.is_success:
                return response
            problem = _problem(response)
            if not left or response.status_code not in (429, 503):
                raise problem
            wait = problem.retry_after if isinstance(problem, TooMuch) else 1.0
            self._sleep(min(wait, _LONGEST_PAUSE))
        raise AssertionError("tries is at least 1")


def change(car: str, fit: Iterable[str], terms: Terms | None) -> Change:
    """Parts to be fitted to a car, on terms. A part may say where: `PART@STATION`."""
    fits = []
    for text in fit:
        part, _, at = text.partition("@")
        fits.append(Fitting(PartName(part.strip()), StationName(at.strip()) if at else None))
    return Change(tuple(fits), CarName(car), terms or Terms())


def _build(name: str) -> str:
    return f"/v1/builds/{quote(name, safe='')}"


def _problem(response: httpx2.Response) -> ApiProblem:
    try:
        found = response.json()
        slug, detail = str(found.pop("type")).rpartition("/")[2], str(found.pop("detail"))
    except (ValueError, KeyError, AttributeError):
        raise Unreachable(f"{response.status_code}, and no problem document") from None
    sort = _SORTS.get(response.status_code, ApiProblem)
    if sort is TooMuch:
        after = response.headers.get("retry-after", "1")
        wait = float(after) if after.isdecimal() else 1.0
        return TooMuch(response.status_code, slug, detail, found, retry_after=wait)
    return sort(response.status_code, slug, detail, found)
