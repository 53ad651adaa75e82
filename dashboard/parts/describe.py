"""One record in one line, as a person would say it."""

from __future__ import annotations

import calendar
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeVar

from core.book.kinds import Record, fields_of
from core.days import Moment
from core.notation import parse_days, parse_starts, parse_tiers
from core.review.as_set import program_words
from core.review.spoken import counted
from core.units import register_text, volume_symbol
from core.water.tables import PLANT_TYPES
from dashboard.words import choice, day_words, yearly

Names = Mapping[str, Mapping[str, str]]
R = TypeVar("R", bound=Record)


def when(moment: Moment) -> str:
    """A moment as the writer saw it."""
    local = moment.local
    return day_words(local) if moment.exact == "day" else f"{day_words(local)}, {local:%H:%M}"


def described(record: Record, names: Names) -> str:
    """The record in one line; references by the names they stand for, money with the ``home``'s ``currency`` there."""
    teller = _TELLERS.get(record.KIND, _plain)
    return teller(record, lambda kind, code: names.get(kind, {}).get(code, code))


Name = Callable[[str, str], str]


def _reading(r: Any, name: Name) -> str:
    how = "" if r.how == "eye" else f", {choice(r.how)}"
    return f"{name('meter', r.meter)} at {_register(r, name)} on {when(r.at)}{how}"


def _register(r: Any, name: Name) -> str:
    """As its face shows it, with the unit it counts in, where the meter is among the names."""
    step, unit = name("meter_step", r.meter), name("meter_unit", r.meter)
    if step == r.meter:
        return f"{r.register_value:,}"
    return f"{register_text(r.register_value, Decimal(step))} {unit}"


def _use(r: Any, name: Name) -> str:
    return f"{name('meter', r.meter)} {r.volume} from {when(r.start)} to {when(r.end)}"


def _rain(r: Any, name: Name) -> str:
    depth = "a trace of rain" if r.trace else f"{r.rain} of rain"
    return f"{depth}, {when(r.start)} to {when(r.end)}"


def _run(r: Any, name: Name) -> str:
    zone = name("zone", r.zone)
    if not r.ran:
        return f"{zone} did not run on {when(r.at)}" + (f": {r.why}" if r.why else "")
    return f"{zone} ran {r.duration} on {when(r.at)}"


def _other(r: Any, name: Name) -> str:
    again = f", every {counted(r.every_days, 'day')}" if r.every_days else ""
    return f"{r.what}: {r.volume} on {when(r.start)}{again}"


def _upkeep(r: Any, name: Name) -> str:
    zone = f" ({name('zone', r.zone)})" if r.zone else ""
    return f"{name('task', r.task)}{zone}, {day_words(r.day)}" + (f": {r.note}" if r.note else "")


def _household(r: Any, name: Name) -> str:
    people = counted(r.people, "person", "people")
    return f"{choice(r.reason)}: {people} from {day_words(r.since)} until {day_words(r.until)}"


def _program(r: Any, name: Name) -> str:
    percent = "" if r.percent == 100 else f" at {r.percent:g} %"
    runs = program_words(parse_days(r.days), parse_starts(r.starts), r.minutes)
    return f"{name('zone', r.zone)}, program {r.label}: {runs}{percent}"


def _planting(r: Any, name: Name) -> str:
    where = "in pots" if r.in_pots else f"in {r.soil.replace('-', ' ')}"
    sort = PLANT_TYPES[r.plant_type].name if r.plant_type in PLANT_TYPES else r.plant_type
    many = f"{counted(r.count, 'pot' if r.in_pots else 'plant')}, " if r.count > 1 or r.in_pots else ""
    size = [f"{r.canopy} across"] if r.canopy is not None else [f"a bed of {r.bed}"] if r.bed is not None else []
    size += [f"pots {r.pot_width} across"] if r.in_pots and r.pot_width is not None else []
    return f"{r.name} in {name('zone', r.zone)}: {', '.join([f'{many}{sort}', *size, where])}"


def _emitters(r: Any, name: Name) -> str:
    much = f"{r.count} × {r.flow_each}" if r.flow_each is not None else f"{r.length} at {r.flow_along}"
    return f"{name('zone', r.zone)}: {choice(r.device)}, {much}, waters {r.waters}"


def _zone(r: Any, name: Name) -> str:
    by = "by hand" if r.hand else _controller(name("controller", r.controller)) if r.controller else "hand valve"
    return f"{r.name}: {name('supply', r.supply)}, {by}"


def _controller(called: str) -> str:
    return called if "controller" in called.lower() else f"controller {called}"


def _meter(r: Any, name: Name) -> str:
    return f"{r.name}: {name('supply', r.supply)}, counts {choice(r.unit)} in steps of {r.resolution:f}"


def _pause(r: Any, name: Name) -> str:
    scope = "everything" if r.scope == "all" else name("zone", r.scope)
    end = f"to {day_words(r.until)}" if r.until else "and still off"
    return f"{scope} off for {choice(r.reason)} from {day_words(r.since)} {end}"


def _money(value: float | Decimal, name: Name) -> str:
    """An amount with the home's sign; fractions of a cent, as prices of a litre have, are kept."""
    sign, number = name("home", "currency"), Decimal(str(value))
    return f"{'' if sign == 'currency' else sign}{number:,{'.2f' if number == round(number, 2) else 'f'}}"


def _tariff(r: Any, name: Name) -> str:
    period = "each month" if r.period_months == "1" else f"every {r.period_months} months"
    unit = volume_symbol(r.unit)
    bound = ""
    steps = []
    for step in parse_tiers(r.prices).steps:
        end = f" up to {step.up_to}" if step.up_to is not None else f" beyond {bound}" if bound else ""
        steps.append(f"{_money(step.price, name)}{end}")
        bound = str(step.up_to)
    told = [f"base {_money(r.base, name)} {period}" + (f" with {r.included:g} {unit}" if r.included else "")]
    told += [f"then per {unit} {', '.join(steps)}"]
    if r.sewer_follows != "none" or r.sewer_base:
        base = f"base {_money(r.sewer_base, name)}" if r.sewer_base else ""
        price = f"{_money(r.sewer_price, name)} per {unit}" if r.sewer_price else ""
        follows = {"use": " of use", "winter": " of the winter average"}.get(r.sewer_follows, "")
        told.append(f"sewer {' and '.join(w for w in (base, price + follows if price else '') if w) or 'free'}")
    return f"{name('supply', r.supply)}: {'; '.join(told)}"


def _bill(r: Any, name: Name) -> str:
    days = f"{day_words(r.since)} to {day_words(r.until)}"
    return f"{name('supply', r.supply)}: {_money(r.amount, name)} for {r.volume}, {days}"


def _home(r: Any, name: Name) -> str:
    lies = f"{abs(r.latitude):g}° {'north' if r.latitude >= 0 else 'south'}"
    if r.longitude is not None:
        lies += f", {abs(r.longitude):g}° {'east' if r.longitude >= 0 else 'west'}"
    told = [w for w in (r.place, lies) if w]
    told += [f"{r.elevation} above the sea", f"clock of {r.timezone}"]
    told += [f"shown in {choice(r.display).partition(': ')[2]}"]
    told += [f"{counted(r.people, 'person', 'people')} usually at home"]
    told += [f"money in {r.currency}"] if r.currency else []
    told += [f"with {r.drinks}"] if r.drinks else []
    told += [f"usual last day before hard frost {yearly(r.shutdown_due)}"] if r.shutdown_due else []
    told += [f"usual first day of watering {yearly(r.startup_due)}"] if r.startup_due else []
    return f"{r.name}: {'; '.join(told)}"


def _task(r: Any, name: Name) -> str:
    often = (
        f"every {counted(r.every_days, 'day')}"
        if r.every_days
        else f"each year by {yearly(r.due_by)}"
        if r.due_by
        else ""
    )
    return f"{r.name}, {often}" if often else str(r.name)


def _normal(r: Any, name: Name) -> str:
    warm = f"{r.tmin or '?'} to {r.tmax or '?'}"
    return f"{calendar.month_name[r.month]}: {warm}, rain {r.rain if r.rain is not None else 'not known'}"


def _plain(r: Record, name: Name) -> str:
    parts = []
    for info in fields_of(type(r)):
        value = getattr(r, info.name)
        if value in (None, "") or info.name == "nth" or (not info.required and value == info.default):
            continue
        if isinstance(value, Moment):
            parts.append(when(value))
        elif isinstance(value, bool):
            parts.append(info.label.lower())
        elif info.cell.form == "ref":
            parts.append(name(info.cell.to, value))
        else:
            parts.append(choice(value) if info.cell.form == "choice" else str(value))
    return ", ".join(parts)


_TELLERS: dict[str, Callable[[Any, Name], str]] = {
    "meter_reading": _reading,
    "metered_use": _use,
    "rain": _rain,
    "run": _run,
    "other_use": _other,
    "upkeep": _upkeep,
    "household": _household,
    "program": _program,
    "planting": _planting,
    "emitter_group": _emitters,
    "zone": _zone,
    "meter": _meter,
    "pause": _pause,
    "tariff": _tariff,
    "bill": _bill,
    "home": _home,
    "task": _task,
    "normal": _normal,
}
