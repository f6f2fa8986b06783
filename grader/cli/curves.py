"""`grader curves`: the computed carburetor, healthy and with faults, as a table and a plot."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grader.base.errors import UseError

if TYPE_CHECKING:
    from grader.circuits.carburetor import Conditions
    from grader.circuits.curves import Curve

EPILOG = """\b
Examples:
  grader curves T-1
  grader curves T-1 --fault rod-stuck-down --fault piston-bore-leaking --output rods.svg
  grader curves T-2 --altitude 4000 --fuel E10 --json
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
    sheet = load_specimen(folder, specimen)
    conditions, said = _conditions(altitude, temperature, humidity, fuel_name)
    found = curves(sheet, [fault_named(name) for name in names], conditions, together=together)
    if output is not None:
        _write(output, sheet.id, said, found, conditions)
    click.echo(_json(sheet.id, found) if as_json else _printed(f"{sheet.id}: {sheet.title}", said, found))
    for reason in sorted({r.reason for curve in found for r in curve.readings if r.reason}):
        click.echo(f"a point has no numbers: {reason}", err=True)
    return 0


def _conditions(altitude: str, temperature: str | None, humidity: str, fuel_name: str) -> tuple[Conditions, str]:
    """What the options say, in SI and in words."""
    from grader.base.quantities import show, unit
    from grader.circuits.air import standard_air
    from grader.circuits.carburetor import Conditions
    from grader.circuits.fuels import fuel_named

    height = _read("--altitude", altitude, "length", "ft")
    warmth = None if temperature is None else _read("--temperature", temperature, "temperature", "")
    wet = _read("--humidity", humidity, "ratio", "1")
    air, fuel = standard_air(height, warmth, wet), fuel_named(fuel_name)
    place = "sea level" if height == 0 else show(height, unit("ft"), 4)
    moist = "dry air" if wet == 0 else f"{wet * 100:.0f} % humidity"
    return Conditions(air, fuel), f"{place}, {float(air.temperature) - 273.15:.0f} °C, {moist}, {fuel.says}"


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


def _json(name: str, found: Sequence[Curve]) -> str:
    """The asked curves' points (the healthy one's where no fault is named), and the healthy ones beside."""
    points = [{**r.as_json(), "fault": curve.name} for curve in found[1:] or found for r in curve.readings]
    healthy = [r.as_json() for r in found[0].readings]
    return json.dumps({"specimen": name, "points": points, "healthy": healthy}, ensure_ascii=False, indent=1)


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


def _line(r: object, compared: bool) -> str:
    from grader.circuits.curves import Reading, in_words, signs

    assert isinstance(r, Reading)
    if r.reason:
        return f"{r.point:14}{r.rpm:9.0f}  no numbers: {r.reason}"
    words = f"  {signs(r.change):4}{in_words(r.change)}" if compared else ""
    notes = "".join([", starved" if r.starved else "", ", the bowl floods" if r.flooded else ""])
    return (
        f"{r.point:14}{r.rpm:9.0f}{r.vacuum_inHg:9.1f}{r.air_g_s:9.2f}{r.fuel_g_s:9.3f}{r.air_fuel:8.1f}{r.lam:8.3f}"
        f"{r.rod_lift_in:10.3f}{r.level_in:9.3f}{words}{notes}"
    )


def _write(output: Path, name: str, said: str, found: Sequence[Curve], conditions: Conditions) -> None:
    from grader.base.files import write_atomic
    from grader.circuits.chart import mixture_chart

    if output.suffix.lower() != ".svg":
        raise UseError(f"--output {output}: the plot is an SVG; give the file a name that ends in .svg")
    write_atomic(output, mixture_chart(name, said, found, conditions.fuel.stoichiometric))
    click.echo(f"written to {output}", err=True)
