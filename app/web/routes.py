"""Every address of the app, and the view behind it, which is imported when first asked for."""

from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any

from flask import Flask

GET, POST, BOTH = ("GET",), ("POST",), ("GET", "POST")

ROUTES: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("/", "eat_first.page", GET),
    ("/eat-first/<ref>", "eat_first.what_to_do", GET),
    ("/lots", "lots.lots", GET),
    ("/lots/<code>", "lots.lot", GET),
    ("/lots/<code>/worked-out", "lots.how", GET),
    ("/lots/<code>/evidence", "evidence.page", GET),
    ("/lots/<code>/trace", "trace.page", GET),
    ("/sources", "trace.sources_page", GET),
    ("/sources/<int:source_id>", "trace.source", GET),
    ("/l/<code>", "lots.by_label", GET),
    ("/L/<code>", "lots.by_label", GET),
    ("/find", "find.page", GET),
    ("/find.json", "find.in_short", GET),
    ("/scan", "scan.page", GET),
    ("/scan.json", "scan.read", GET),
    ("/write", "operations.menu", GET),
    ("/write/intake", "operations.intake", BOTH),
    ("/write/pack", "packing.pack_page", BOTH),
    ("/write/trial", "trials.new", BOTH),
    ("/papers/trials", "trials.page", GET),
    ("/write/mix", "mixing.page", BOTH),
    ("/write/load", "runs.load_page", BOTH),
    ("/write/first-day", "first_day.page", BOTH),
    ("/write/first-day/<span>", "first_day.taken_in", BOTH),
    ("/write/<word>", "operations.entry", BOTH),
    ("/went-wrong", "went_wrong.menu", GET),
    ("/went-wrong/<mishap>", "went_wrong.tell", BOTH),
    ("/incidents/<int:incident_id>", "went_wrong.incident_page", GET),
    ("/runs/<int:run_id>", "runs.run_page", GET),
    ("/runs/<int:run_id>/weigh", "runs.weigh", POST),
    ("/runs/<int:run_id>/unload", "runs.unload_run", POST),
    ("/due", "due.page", GET),
    ("/due/<key>", "due.one", BOTH),
    ("/calendar/<token>.ics", "calendar.ics", GET),
    ("/written/<key>", "history.is_written", GET),
    ("/bench", "bench.page", GET),
    ("/places", "places.page", GET),
    ("/places/<int:place_id>", "places.place", GET),
    ("/places/new", "places.new", BOTH),
    ("/places/<int:place_id>/edit", "places.edit", BOTH),
    ("/places/<int:place_id>/warm", "places.warm", BOTH),
    ("/places/<int:place_id>/readings", "places.readings", BOTH),
    ("/places/<int:place_id>/logger", "places.logger", BOTH),
    ("/places/<int:place_id>/stocktake", "stocktake.page", BOTH),
    ("/stocktakes/<int:operation_id>", "stocktake.one", GET),
    ("/holds", "holds.page", GET),
    ("/holds/new", "holds.new", BOTH),
    ("/holds/<int:hold_id>/result", "holds.result", BOTH),
    ("/holds/<int:hold_id>/release", "holds.lift", BOTH),
    ("/labels", "labels.page", GET),
    ("/labels.pdf", "labels.pdf", GET),
    ("/labels/printed", "labels.printed", POST),
    ("/papers", "papers.page", GET),
    ("/papers/cautions", "papers.cautions", GET),
    ("/papers/numbers", "papers.numbers", GET),
    ("/papers/guide", "papers.guide", GET),
    ("/papers/not-covered", "papers.not_covered", GET),
    ("/papers/foretell", "foretell.page", GET),
    ("/papers/foretell/<question>", "foretell.topic", GET),
    ("/season", "season.page", GET),
    ("/history", "history.page", GET),
    ("/operations/<int:operation_id>", "history.one", GET),
    ("/operations/<int:operation_id>/undo", "history.undo", POST),
    ("/operations/<int:operation_id>/correct", "history.correct_page", BOTH),
    ("/first-run", "household.first_run", BOTH),
    ("/first-steps", "household.first_steps", GET),
    ("/household", "household.page", GET),
    ("/household/writer", "household.writer", POST),
    ("/household/units", "household.units", POST),
    ("/household/language", "household.reading_language", POST),
    ("/pair", "devices.pair", BOTH),
    ("/household/devices", "devices.page", GET),
    ("/household/devices/code", "devices.new_code", POST),
    ("/household/devices/<int:device_id>/remove", "devices.remove", POST),
    ("/household/settings", "household.settings", BOTH),
    ("/household/calendar", "household.calendar", POST),
    ("/household/secure", "secure.page", GET),
    ("/household/secure/stillroom.crt", "secure.certificate", GET),
    ("/household/<thing>/new", "household.add", BOTH),
)

FILTERS = (
    "mass",
    "mass_pair",
    "mass_exact",
    "package_words",
    "percent",
    "day",
    "spoken",
    "done_words",
    "loss_words",
    "addition_words",
    "measured_words",
    "moment",
    "kind_words",
    "told_words",
)


def register(app: Flask) -> None:
    """Give the application its addresses and the templates their filters, importing neither."""
    for rule, view, methods in ROUTES:
        package, name = view.split(".")
        app.add_url_rule(
            rule,
            f"{view} {rule}",
            deferred(f"app.web.{package}.views", name),
            methods=list(methods),
            strict_slashes=False,
        )
    for name in FILTERS:
        app.jinja_env.filters[name] = deferred("app.web.display", name)
    app.jinja_env.filters["about_lines"] = deferred("app.web.history.words", "about_lines")


def deferred(module: str, name: str) -> Callable[..., Any]:
    """A stand-in that imports the module at its first call."""

    def call(*args: Any, **kwargs: Any) -> Any:
        return _found(module, name)(*args, **kwargs)

    return call


def warm() -> None:
    """Import every view, so that no page after the first has to wait for it."""
    for _, view, _ in ROUTES:
        package, name = view.split(".")
        _found(f"app.web.{package}.views", name)


@cache
def _found(module: str, name: str) -> Callable[..., Any]:
    found: Callable[..., Any] = getattr(import_module(module), name)
    return found
