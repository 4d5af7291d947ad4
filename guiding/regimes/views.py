"""The pages of moved and iced water: what is on file for today, and where to type it in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from guiding.command_line import one_line
from guiding.regimes import schedulefile, tidefile
from guiding.regimes.actions import (
    Compared,
    LookRefused,
    compare_schedules,
    compare_tide_tables,
    import_schedules,
    import_tide_tables,
    keep_look,
    keep_schedule,
    keep_tide_table,
)
from guiding.regimes.forms import FileForm, LookForm, ScheduleForm, TideForm
from guiding.regimes.linetable import MOST_BYTES, MOST_TOLD, TableRefused, text_of
from guiding.regimes.models import Dam, IceLook, TidePlace
from guiding.regimes.overview import days_on_file, overview, two_days
from guiding.rivers.models import River

KEPT = "Kept. Packs that went before do not know of it: Today names the trips to read again."
SHOWN_LOOKS = 30


@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Name every dam, tide place and river, with what is on file for today and tomorrow."""
    return render(request, "regimes/index.html", {"overview": overview(timezone.now())})


@require_http_methods(["GET", "POST"])
def dam(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show a dam's schedules; take one day's."""
    row = get_object_or_404(Dam.objects.select_related("river"), key=key)
    at, river = timezone.now(), row.river
    last = row.schedules.order_by("-typed_at").first()
    with timezone.override(river.zoneinfo):
        form = ScheduleForm(
            request.POST or None,
            at=at,
            today=river.day_of(at),
            initial=_initial(river, at, last.said_by if last else ""),
        )
        if request.method == "POST" and form.is_valid():
            given = form.cleaned_data
            if _is_kept(
                request,
                form,
                lambda: keep_schedule(
                    row,
                    given["day"],
                    given["releases"],
                    said_by=given["said_by"],
                    said_at=given["said_at"],
                    at=at,
                    who=request.user,
                ),
            ):
                return redirect("regimes:dam", key=row.key)
        days = days_on_file(row.schedules.all(), "releases", river, at)
        page = {
            "dam": row,
            "two_days": two_days(days, river, at),
            "form": form,
            "file_form": FileForm(initial={"said_by": last.said_by if last else ""}),
            "file_form_words": schedulefile.FORM,
            "days": days,
            "links": row.beat_links.select_related("beat"),
        }
        return render(request, "regimes/dam.html", page)


@require_http_methods(["GET", "POST"])
def tide(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show a place's tide tables; take one day's."""
    row = get_object_or_404(TidePlace.objects.select_related("river"), key=key)
    at, river = timezone.now(), row.river
    last = row.tables.order_by("-typed_at").first()
    with timezone.override(river.zoneinfo):
        form = TideForm(
            request.POST or None,
            at=at,
            today=river.day_of(at),
            twice_a_day=row.is_twice_a_day,
            initial=_initial(river, at, last.said_by if last else ""),
        )
        if request.method == "POST" and form.is_valid():
            given = form.cleaned_data
            if _is_kept(
                request,
                form,
                lambda: keep_tide_table(
                    row,
                    given["day"],
                    given["turns"],
                    said_by=given["said_by"],
                    said_at=given["said_at"],
                    at=at,
                    who=request.user,
                ),
            ):
                return redirect("regimes:tide", key=row.key)
        days = days_on_file(row.tables.all(), "turns", river, at)
        page = {
            "place": row,
            "two_days": two_days(days, river, at),
            "form": form,
            "file_form": FileForm(initial={"said_by": last.said_by if last else ""}),
            "file_form_words": tidefile.FORM,
            "days": days,
            "links": row.beat_links.select_related("beat"),
        }
        return render(request, "regimes/tide.html", page)


@require_http_methods(["GET", "POST"])
def ice(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show the looks at ice on a river; take one."""
    river = get_object_or_404(River, key=key)
    at = timezone.now()
    with timezone.override(river.zoneinfo):
        form = LookForm(
            request.POST or None,
            river=river,
            at=at,
            initial={"looked_at": _here(river, at), "who": request.user.get_username()},
        )
        if request.method == "POST" and form.is_valid():
            given = form.cleaned_data
            if _is_kept(
                request,
                form,
                lambda: keep_look(
                    river,
                    beat=given["beat"],
                    seen=given["seen"],
                    looked_at=given["looked_at"],
                    who_looked=given["who"],
                    water_c=given["water_c"],
                    at=at,
                    who=request.user,
                ),
            ):
                return redirect("regimes:ice", key=river.key)
        looks = IceLook.objects.filter(river=river).select_related("beat", "river")[:SHOWN_LOOKS]
        today = river.day_of(at)
        newest = next((row for row in looks if river.day_of(row.looked_at) == today), None)
        page = {"river": river, "form": form, "looks": looks, "newest": newest}
        return render(request, "regimes/ice.html", page)


@require_POST
def import_releases(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show what a file of schedules would change, or keep it."""
    row = get_object_or_404(Dam.objects.select_related("river"), key=key)
    return _import(
        request,
        row,
        "regimes:dam",
        schedulefile.read_schedule,
        lambda days, at: compare_schedules(row, days, at=at),
        lambda days, at, said_by, name: import_schedules(
            row, days, said_by=said_by, at=at, name=name, who=request.user
        ),
    )


@require_POST
def import_tides(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show what a file of tide tables would change, or keep it."""
    row = get_object_or_404(TidePlace.objects.select_related("river"), key=key)
    return _import(
        request,
        row,
        "regimes:tide",
        lambda text: tidefile.read_tide_table(text, twice_a_day=row.is_twice_a_day),
        lambda days, at: compare_tide_tables(row, days, at=at),
        lambda days, at, said_by, name: import_tide_tables(
            row, days, said_by=said_by, at=at, name=name, who=request.user
        ),
    )


_Days = Mapping[date, Any]


def _import(
    request: HttpRequest,
    row: Dam | TidePlace,
    back: str,
    read: Callable[[str], _Days],
    compare: Callable[[_Days, datetime], Compared],
    keep: Callable[[_Days, datetime, str, str], Compared],
) -> HttpResponse:
    """Show a file for what it would change; what comes back from that page is kept.

    The text goes to the browser and back, so it is checked again as if it had never been seen.
    """
    at, is_kept = timezone.now(), request.POST.get("keep") == "yes"
    form = FileForm(request.POST, request.FILES)
    problems: tuple[str, ...] = ()
    try:
        if is_kept:
            text = _text_sent_back(request)
            said_by, name = (one_line(request.POST.get(word, "")) for word in ("said_by", "name"))
        elif form.is_valid():
            text = form.cleaned_data["file"]
            said_by, name = form.cleaned_data["said_by"], one_line(form.file_name)
        else:
            raise TableRefused([f"{line}" for lines in form.errors.values() for line in lines])
        days = read(text)
        if is_kept:
            done = keep(days, at, said_by[:120], name[:200])
            messages.success(request, f"{done.words()} {KEPT}")
            return redirect(back, key=row.key)
        page = {"compared": compare(days, at), "text": text, "said_by": said_by, "name": name}
    except (TableRefused, LookRefused) as refusal:
        problems = getattr(refusal, "problems", (str(refusal),))
        page = {"refusal": f"{refusal}", "problems": problems[:MOST_TOLD]}
    page |= {"row": row, "back": back}
    return render(request, "regimes/import.html", page, status=422 if problems else 200)


def _text_sent_back(request: HttpRequest) -> str:
    sent = request.POST.get("text", "").encode()
    if len(sent) > MOST_BYTES * 2:  # a browser sends each line's end as two signs
        raise TableRefused([f"the text has more than {MOST_BYTES:,} bytes; send a shorter one."])
    return text_of(sent.replace(b"\r\n", b"\n"))


def _is_kept(request: HttpRequest, form: forms.Form, keep: Callable[[], object]) -> bool:
    """Keep what was typed, or show in the form why it cannot be."""
    try:
        keep()
    except LookRefused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, KEPT)
    return True


def _here(river: River, at: datetime) -> datetime:
    return at.astimezone(river.zoneinfo).replace(second=0, microsecond=0)


def _initial(river: River, at: datetime, said_by: str) -> dict[str, Any]:
    here = _here(river, at)
    # in the evening it is tomorrow's that is asked for
    day = here.date() + timedelta(days=1 if here.hour >= EVENING else 0)
    return {"day": day, "said_at": here, "said_by": said_by}


EVENING = 16  # common practice, no source
