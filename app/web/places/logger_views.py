"""Reading a logger's file in: choose it, see how it is read, then write it in one go."""

import secrets
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.calendar import zone_of
from app.ledger.climates import StatedClimate, climate_at
from app.ledger.loggers.columns import Mapping
from app.ledger.loggers.readings import Why
from app.ledger.loggers.table import NotATable, Table
from app.ledger.models import Place
from app.ledger.operations.climate import change_climate
from app.ledger.queries.climate import reach_of, was_read_in
from app.ledger.queries.places import place_by_id
from app.ledger.safety import gate
from app.ledger.words import PlaceKind
from app.units import Temperature
from app.web import scope
from app.web.display import moment, temperature
from app.web.places.carried import MOST_BYTES, Carried, Unfit, taken, unpacked
from app.web.places.cautions import logged_cautions
from app.web.places.climate_forms import asked_of
from app.web.places.logger_file import Looked, guessed, look_into, name_of, request_of
from app.web.places.logger_form import LoggerFileForm
from app.web.places.words import renewed_words, stated_words
from app.web.posting import Caution, Written, write

FIRST_ROWS = 8
NAMED_ROWS = 12
_WHY = {
    Why.NO_TIME: N_("no time that can be read"),
    Why.NO_TEMPERATURE: N_("no temperature"),
    Why.BEYOND_BELIEF: N_("a temperature no logger measures"),
    Why.NEVER_ON_THE_CLOCK: N_("a time that no clock showed that night, read as standard time"),
}


@dataclass(frozen=True, slots=True)
class RowRead:
    """A row of the file beside what it was read as."""

    number: int
    cells: str
    at: str
    temperature: str
    humidity: str


def logger(place_id: int) -> ResponseReturnValue:
    """Choose a file; look how it is read; write it."""
    found = place_by_id(scope.reading(), place_id)
    if request.method == "GET":
        return _choose(found)
    try:
        carried = _carried()
        if was_read_in(scope.reading(), carried.sha256):
            raise Unfit(_("{name} was read in before; nothing was added.", name=carried.name))
        table, guess = guessed(carried.data)
        return _look(found, carried, table, guess)
    except Unfit as fault:
        return _choose(found, str(fault))
    except NotATable as fault:
        return _choose(found, _("This file could not be read: {reason}.", reason=fault.reason))


def _carried() -> Carried:
    sent = request.files.get("file")
    if sent is not None:
        if not sent.filename:
            raise Unfit(_("Choose a file first."))
        with sent.stream as stream:
            return taken(sent.filename, stream.read(MOST_BYTES + 1))
    return unpacked(request.form.get("file_name", ""), request.form.get("carried", ""))


def _choose(found: Place, fault: str = "") -> ResponseReturnValue:
    body = render_template(
        "places/logger.html", place=found, fault=fault, megabytes=MOST_BYTES // 1_000_000
    )
    return body, 422 if fault else 200


def _look(found: Place, carried: Carried, table: Table, guess: Mapping) -> ResponseReturnValue:
    session = scope.reading()
    zone = zone_of(session)
    form = LoggerFileForm(request.form if "carried" in request.form else None)
    is_new, is_writing = "carried" not in request.form, request.form.get("step") == "write"
    first = climate_at(session, found, scope.now())
    if is_new:
        form.start(guess, first)
    looked = look_into(table, guess, form.answers, zone)
    before = climate_at(session, found, looked.ordered[-1].at) if looked.ordered else first
    form.offer(looked, before, stated_words(before))
    if is_writing and not looked.open:
        answer = write(
            form,
            lambda s: _written(form, s, found, carried, looked, before, zone),
            draft=_draft(found, carried),
        )
        if answer is not None:
            return answer
    elif not {name_of(m) for m in looked.months} & set(form.months.data or ()):
        form.tick_all()
    form.ask(looked)
    form.carried.data, form.file_name.data = carried.packed, carried.name
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    if not form.cautions:
        form.cautions = _cautions(found, looked)
    body = render_template(
        "places/logger_read.html",
        place=found,
        form=form,
        looked=looked,
        draft=_draft(found, carried),
        name=carried.name,
        shown=form.shown(looked),
        rows=_rows(looked),
        left_out=_left_out(looked),
        warm=logged_cautions(PlaceKind(found.kind), looked.file.segments) if looked.file else (),
        reach=reach_of(session, found.id),
    )
    return body, 422 if is_writing else 200


def _draft(found: Place, carried: Carried) -> str:
    return f"logger-{found.id}-{carried.sha256[:8]}"


def _asked(found: Place, looked: Looked, ticked: list[str]) -> list[object]:
    """A month whose mean no such place has was read in the wrong unit, most likely."""
    means = [
        Temperature("", m.mean_c, round(m.mean_c, 1), "C")
        for m in looked.months
        if name_of(m) in ticked
    ]
    return list(asked_of(PlaceKind(found.kind), means))


def _cautions(found: Place, looked: Looked) -> list[Caution]:
    every = [name_of(m) for m in looked.months]
    return [
        Caution(v.id, "confirm", v.sentence, v.source_text)  # type: ignore[attr-defined]
        for v in _asked(found, looked, every)
    ]


def _written(
    form: LoggerFileForm,
    session: Session,
    found: Place,
    carried: Carried,
    looked: Looked,
    before: StatedClimate,
    zone: ZoneInfo,
) -> Written:
    ticked = list(form.months.data or ())
    request_ = request_of(
        looked,
        carried,
        place_id=found.id,
        months=ticked,
        before=before,
        returns=form.after.data == "returns",
        zone=zone,
        now=scope.now(),
        note=form.note.data,
    )
    applied = gate(_asked(found, looked, ticked), form.reason.data)  # type: ignore[arg-type]
    posted = change_climate(
        session, request_, at=scope.now(), by=scope.person_id(), checkpoints=applied
    )
    words = _(
        "Read in: {readings:,} readings of {name}. ",
        readings=len(request_.readings),
        name=carried.name,
    )
    return Written(
        f"/places/{found.id}", words + renewed_words(session, found.id), posted.operation_id
    )


def _rows(looked: Looked) -> list[RowRead]:
    """The first rows, as they stand in the file and as they were read."""
    readings = looked.file.readings[:FIRST_ROWS] if looked.file else ()
    found = []
    for reading in readings:
        cells = looked.table.rows[reading.row - looked.table.first_row_number]
        damp = reading.relative_humidity
        found.append(
            RowRead(
                number=reading.row,
                cells="  ".join(cell for cell in cells if cell),
                at=moment(reading.at),
                temperature=temperature(reading.temp_c),
                humidity="" if damp is None else f"{100 * damp:.0f} %",
            )
        )
    return found


def _left_out(looked: Looked) -> list[str]:
    """What was not read, or read with a doubt."""
    file = looked.file
    if file is None:
        return []
    found = []
    if file.gaps:
        found.append(
            _count(len(file.gaps), "gap") + _(" without a usable reading; nothing is filled in")
        )
    if file.repeated_rows:
        found.append(_count(file.repeated_rows, "row") + _(" written twice; counted once"))
    if len(file.segments) > 1:
        back = _count(len(file.segments) - 1, "time")
        found.append(_("{back} the logger’s clock went back; every reading stays", back=back))
    for why, words in _WHY.items():
        rows = [n.row for n in (*file.unreadable, *file.adjusted) if n.why is why]
        if rows:
            found.append(
                _(
                    "{count} with {words}: line {listed}",
                    count=_count(len(rows), "row"),
                    words=words,
                    listed=_listed(rows),
                )
            )
    for stuck in file.stuck:
        found.append(
            _(
                "{degrees} to the last digit from {moment} to {moment_2}: a sensor that "
                "hangs, or a very steady place",
                degrees=temperature(stuck.temp_c),
                moment=moment(stuck.since),
                moment_2=moment(stuck.until),
            )
        )
    return found


def _count(count: int, word: str) -> str:
    return f"1 {word}" if count == 1 else f"{count:,} {word}s"


def _listed(rows: list[int]) -> str:
    more = len(rows) - NAMED_ROWS
    named = ", ".join(f"{row}" for row in rows[:NAMED_ROWS])
    return _("{named} and {more:,} more", named=named, more=more) if more > 0 else named
