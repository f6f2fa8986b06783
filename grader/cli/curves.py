"""`grader curves`: the computed carburetor, healthy and with faults, as a table and a plot."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from grader.base.errors import UseError

if TYPE_CHECKING:
    from grader.circuits.altitude import Altitude
    from grader.circuits.carburetor import Conditions
    from grader.circuits.curves import Curve, Reading
    from grader.circuits.faults import Fault
    from grader.circuits.specimens import Specimen

EPILOG = """\b
Examples:
  grader curves T-1
  grader curves T-1 --fault rod-stuck-down --fault piston-bore-leaking --output rods.svg
  grader curves T-2 --altitude 4000 --fuel E10 --json
  grader curves T-1 --signatures
  grader curves --faults
"""


@click.command("curves", epilog=EPILOG)
@click.argument("specimen", metavar="[SPECIMEN]", required=False)
@click.option("--fault", "names", multiple=True, metavar="FAULT", help="A fault, by its name; give it again for a further curve.")
@click.option("--together", is_flag=True, help="All faults on one carburetor, instead of a curve for each.")
@click.option("--altitude", default="0", show_default=True, metavar="FT", help="In feet, or with a unit: 1200 m.")
@click.option("--temperature", metavar="T", help="Of the air, with its unit: 90 degF; the standard atmosphere's if left out.")
@click.option("--humidity", default="0 %", show_default=True, metavar="SHARE", help="Relative humidity of the air.")
@click.option("--fuel", "fuel_name", default="gasoline", show_default=True, metavar="FUEL", help="gasoline or E10.")
@click.option("--output", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.svg", help="Write the plot too.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: points.")
@click.option("--coil", metavar="T", help="A cold engine: temperature of the choke's coil, with its unit: 32 degF.")
@click.option("--signatures", "as_table", is_flag=True, help="Print what each fault changes, warm and cold, and stop.")
@click.option("--faults", "list_faults", is_flag=True, help="List every fault and stop.")
@click.option(
    "--in", "folder", type=click.Path(path_type=Path, file_okay=False), default=Path(), metavar="DIR", help="The course's folder."
)
def command(
    specimen: str | None,
    names: Sequence[str],
    together: bool,
    altitude: str,
    temperature: str | None,
    humidity: str,
    fuel_name: str,
    output: Path | None,
    as_json: bool,
    coil: str | None,
    as_table: bool,
    list_faults: bool,
    folder: Path,
) -> int:
    """Compute SPECIMEN (T-1, or a sheet's file) at its operating points, healthy and with each FAULT.

    Prints vacuum, air, fuel, mixture, rod lift and fuel level at each point, and how the mixture changes.
    """
    from grader.circuits.curves import curves
    from grader.circuits.faults import FAULTS, fault_named
    from grader.items.specimen_file import load_specimen, specimen_names

    if list_faults:
        click.echo("\n".join(f"{fault.name}\n    {fault.says}" for fault in FAULTS.values()))
        return 0
    if specimen is None:
        known = ", ".join(specimen_names(folder)) or "none here"
        raise UseError(f"no specimen is named; this course has {known}: `grader curves T-1`")
    sheet, faults = load_specimen(folder, specimen), [fault_named(name) for name in names]
    conditions, said = _conditions(altitude, temperature, humidity, fuel_name)
    if as_table:
        click.echo(_signatures(sheet, faults, conditions, as_json))
        return 0
    cold = None if coil is None else _read("--coil", coil, "temperature", "")
    said += "" if cold is None else f", choke coil at {cold - 273.15:.0f} °C"
    found = curves(sheet, faults, conditions, together=together, coil_temperature=cold)
    if output is not None:
        down = _conditions("0", temperature, humidity, fuel_name)[0]
        low = None if _height(altitude) == 0 else curves(sheet, (), down, coil_temperature=cold)[0]
        _write(output, sheet.id, said, found, conditions, low)
    if as_json:
        click.echo(_json(sheet.id, found, _compensator(sheet, conditions, _height(altitude))))
    else:
        click.echo(
            _printed(f"{sheet.id}: {sheet.title}", said, found)
            + _thin_air(sheet, _compensator(sheet, conditions, _height(altitude)))
        )
    for reason in sorted({r.reason for curve in found for r in curve.readings if r.reason}):
        click.echo(f"a point has no numbers: {reason}", err=True)
    return 0


def _conditions(altitude: str, temperature: str | None, humidity: str, fuel_name: str) -> tuple[Conditions, str]:
    """What the options say, in SI and in words."""
    from grader.base.quantities import show, unit
    from grader.circuits.air import standard_air
    from grader.circuits.carburetor import Conditions
    from grader.circuits.fuels import fuel_named

    height = _height(altitude)
    warmth = None if temperature is None else _read("--temperature", temperature, "temperature", "")
    wet = _read("--humidity", humidity, "ratio", "1")
    air, fuel = standard_air(height, warmth, wet), fuel_named(fuel_name)
    place = "sea level" if height == 0 else show(height, unit("ft"), 4)
    moist = "dry air" if wet == 0 else f"{wet * 100:.0f} % humidity"
    return Conditions(air, fuel), f"{place}, {float(air.temperature) - 273.15:.0f} °C, {moist}, {fuel.says}"


def _height(altitude: str) -> float:
    return _read("--altitude", altitude, "length", "ft")


def _compensator(sheet: Specimen, conditions: Conditions, height: float) -> Altitude | None:
    """What altitude does to the healthy carburetor, and what a compensator's bleeds must be; nothing at sea level."""
    from grader.circuits.altitude import at_altitude

    names = [point.name for point in sheet.points]
    if height == 0 or "cruise" not in names or not any(point.on_stop for point in sheet.points):
        return None
    return at_altitude(sheet, height, conditions.fuel)


def _thin_air(sheet: Specimen, found: Altitude | None) -> str:
    from grader.base.quantities import show, unit

    if found is None:
        return ""
    names = [point.name for point in sheet.points]
    uncorrected = ", ".join(f"{name} {100 * (1 - share):.1f} %" for name, share in zip(names, found.uncorrected, strict=True))
    left = ", ".join(f"{name} {100 * (share - 1):+.1f} %" for name, share in zip(names, found.corrected, strict=True))
    holes = [
        f"{what} {show(bore, unit('in'), 3)}"
        for what, bore in (("idle", found.idle_bleed), ("main", found.main_bleed))
        if bore > 0
    ]
    lines = [
        "",
        "",
        f"altitude, in the standard atmosphere there: air density {found.density_ratio:.4f} of sea level's",
        f"richer, uncorrected: {uncorrected}; square-root law {100 * (1 - found.square_root_law):.1f} %",
        f"a two-position compensator needs further bleeds of {' and '.join(holes) or 'a size that there is not'}"
        + (f"; {found.reason}" if found.reason else ""),
        f"    mixture left over with them open, + leaner than at sea level: {left}",
        f"    without one, a main jet of {100 * found.jet_share:.1f} % of the open area restores cruise",
    ]
    return "\n".join(lines)


def _signatures(sheet: Specimen, faults: Sequence[Fault], conditions: Conditions, as_json: bool) -> str:
    from grader.base.quantities import unit
    from grader.circuits.curves import signs, vacuum_sign
    from grader.circuits.signatures import signatures

    found = signatures(sheet, faults or None, fuel=conditions.fuel)
    names, inch = [point.name for point in sheet.points], float(unit("inHg").factor)
    if as_json:

        def named(values: Any, shown: Any = signs) -> dict[str, Any]:
            return {name: shown(float(value)) for name, value in zip(names, values, strict=True)}

        rows = [
            {
                "fault": s.fault.name,
                "warm": named(s.mixture),
                "cold": named(s.cold_mixture),
                "change_percent": named(100 * s.mixture, _rounded),
                "cold_change_percent": named(100 * s.cold_mixture, _rounded),
                "vacuum_inHg": named(s.vacuum / inch, _rounded),
                "cold_vacuum_inHg": named(s.cold_vacuum / inch, _rounded),
                "free_idle_rpm": None if s.stalls else round(s.idle * 60, 1),
            }
            for s in found
        ]
        return json.dumps({"specimen": sheet.id, "signatures": rows}, ensure_ascii=False, indent=1)
    lines = [
        f"{sheet.id}: what each fault changes at fixed speed and throttle, in this order:",
        ", ".join(names),
        "cold: air, fuel and coil at 0 °C; free idle: the speed at which the engine settles, warm",
        "",
        "MIXTURE: + leaner, - richer; one sign from 1 %, two from 5 %, three from 15 %; ? no mixture",
        f"{'fault':36}{'warm':26}{'cold':26}free idle",
    ]
    for s in found:
        warm, cold = (" ".join(f"{signs(change):>3}" for change in side) for side in (s.mixture, s.cold_mixture))
        idle = "stalls" if s.stalls else f"{s.idle * 60:+.0f} rev/min"
        lines.append(f"{s.fault.name:36}{warm:26}{cold:26}{idle}")
    lines += ["", "VACUUM, change in inHg", f"{'fault':36}{'warm':34}cold"]
    for s in found:
        sides = (s.vacuum / inch, s.cold_vacuum / inch)
        warm, cold = (" ".join(f"{vacuum_sign(float(change)):>4}" for change in side) for side in sides)
        lines.append(f"{s.fault.name:36}{warm:34}{cold}")
    return "\n".join(lines)


def _rounded(number: float) -> float | None:
    return None if number != number else round(number, 3)


def _read(option: str, text: str, kind: str, default: str) -> float:
    from grader.base.quantities import read_quantity, unit

    try:
        found = read_quantity(text)
    except UseError as error:
        raise UseError(f"{option}: {error}") from error
    if found.unit.name == "1" and default:
        return unit(default).to_si(found.number)
    if found.unit.kind != kind:
        given = f"in {found.unit.name}" if found.unit.name != "1" else "without a unit"
        raise UseError(f"{option} is given {given}: `{text}`; give it as {_LIKE[kind]}")
    return found.si


_LIKE = {"length": "`4000 ft` or `1200 m`", "temperature": "`90 degF` or `32 degC`", "ratio": "`50 %`"}


def _json(name: str, found: Sequence[Curve], altitude: Altitude | None) -> str:
    """The asked curves' points (the healthy one's where no fault is named), and the healthy ones beside."""
    points = [{**r.as_json(), "fault": curve.name} for curve in found[1:] or found for r in curve.readings]
    printed: dict[str, Any] = {"specimen": name, "points": points, "healthy": [r.as_json() for r in found[0].readings]}
    if altitude is not None:
        printed["altitude"] = altitude.as_json([r.point for r in found[0].readings])
    return json.dumps(printed, ensure_ascii=False, indent=1)


_HEAD = (
    f"{'point':14}{'rev/min':>9}{'vacuum':>9}{'air':>9}{'fuel':>9}{'A/F':>8}{'lambda':>8}{'rod lift':>10}{'level':>9}  mixture",
    f"{'':14}{'':>9}{'inHg':>9}{'g/s':>9}{'g/s':>9}{'':>8}{'':>8}{'in':>10}{'in':>9}",
)


def _printed(title: str, said: str, found: Sequence[Curve]) -> str:
    lines = [title, said]
    for curve in found:
        lines += ["", f"{curve.name}: {curve.says}" if curve.name else "healthy", *(line.rstrip() for line in _HEAD)]
        lines += [_line(reading, bool(curve.name)) for reading in curve.readings]
    return "\n".join(lines)


def _line(r: Reading, compared: bool) -> str:
    from grader.circuits.curves import in_words, signs, vacuum_sign

    if r.reason:
        return f"{r.point:14}{r.rpm:9.0f}  no numbers: {r.reason}"
    words = f"  {signs(r.change):4}{in_words(r.change)}" if compared else ""
    moved = vacuum_sign(r.vacuum_change_inHg)
    words += f", vacuum {moved} inHg" if compared and moved != "0" else ""
    notes = "".join([", starved" if r.starved else "", ", the bowl floods" if r.flooded else ""])
    return (
        f"{r.point:14}{r.rpm:9.0f}{r.vacuum_inHg:9.1f}{r.air_g_s:9.2f}{r.fuel_g_s:9.3f}{r.air_fuel:8.1f}{r.lam:8.3f}"
        f"{r.rod_lift_in:10.3f}{r.level_in:9.3f}{words}{notes}"
    )


def _write(output: Path, name: str, said: str, found: Sequence[Curve], conditions: Conditions, sea_level: Curve | None) -> None:
    from grader.base.files import write_atomic
    from grader.circuits.chart import mixture_chart

    if output.suffix.lower() != ".svg":
        raise UseError(f"--output {output}: the plot is an SVG; give the file a name that ends in .svg")
    write_atomic(output, mixture_chart(name, said, found, conditions.fuel.stoichiometric, sea_level))
    click.echo(f"written to {output}", err=True)
