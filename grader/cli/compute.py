"""`grader compute`: one relation in the trade's units, with its working."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from grader.base.errors import UseError

if TYPE_CHECKING:
    from grader.base.quantities import Quantity, Unit
    from grader.relations.relation import Relation

EPILOG = """\b
Examples:
  grader compute open_area D="0.095 in" d="0.067 in" --unit mm^2
  grader compute jet_flow C_d=0.78 A="2.30 mm^2" rho="740 kg/m^3" delta_p="11 inH2O"
  grader compute
"""


@click.command("compute", epilog=EPILOG)
@click.argument("name", metavar="[RELATION]", required=False)
@click.argument("values", metavar="[NAME=VALUE]...", nargs=-1)
@click.option("--unit", "unit_name", metavar="UNIT", help="Unit of the answer; the relation's own if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: value, unit, working.")
def command(name: str | None, values: Sequence[str], unit_name: str | None, as_json: bool) -> int:
    """Compute RELATION from NAME=VALUE, each with its unit; without a name, list every relation.

    Prints the value, the formula and the working. A value without a unit is a plain number.
    """
    from grader.circuits.catalog import relations

    table = relations()
    if name is None:
        if unit_name:
            raise UseError("--unit goes with a relation; `grader compute` alone lists them all")
        click.echo(json.dumps(_listed_json(table), ensure_ascii=False, indent=1) if as_json else _listed(table))
        return 0
    relation = table.get(name)
    if relation is None:
        raise UseError(f"`{name}` is not a relation{_near(name, table)} (`grader compute` lists them all)")
    click.echo(_computed(relation, _assigned(relation, values), _unit(relation, unit_name), as_json))
    return 0


def _near(word: str, words: Mapping[str, Any] | Sequence[str]) -> str:
    near = difflib.get_close_matches(word, list(words), 1, 0.5)
    return f"; did you mean `{near[0]}`?" if near else ""


def _assigned(relation: Relation, values: Sequence[str]) -> dict[str, Quantity]:
    """The quantities by symbol; everything wrong with them at once."""
    found: dict[str, Quantity] = {}
    wrong: list[str] = []
    for text in values:
        symbol, equals, written = (part.strip() for part in text.partition("="))
        if not equals:
            wrong.append(f'`{text}` is not NAME=VALUE; write it as {relation.parameters[0]}="0.095 in"')
        elif symbol not in relation.parameters:
            near = _near(symbol, relation.parameters) or f"; they are {', '.join(relation.parameters)}"
            wrong.append(f"`{symbol}` is no symbol of {relation.name}{near}")
        elif symbol in found:
            wrong.append(f"`{symbol}` is given twice; keep one of the two")
        else:
            try:
                found[symbol] = _quantity(written, relation.symbols[symbol].unit)
                wrong += _wrong_kind(relation, symbol, found[symbol])
            except UseError as error:
                wrong.append(f"{symbol}: {error}")
    named = [text.partition("=")[0].strip() for text in values]
    wrong += [
        f'`{s.name}` ({s.says}) has no value; add {s.name}="… {s.unit.name}"'.replace("… 1", "…")
        for s in relation.arguments
        if s.default is None and s.name not in named
    ]
    if wrong:
        raise UseError("\n        ".join(wrong))
    return found


def _quantity(written: str, wanted: Unit) -> Quantity:
    """A quantity with its unit by name, or as people spell it (`rpm`, `cfm`, `inches of mercury`)."""
    from grader.base.quantities import UNITS, fold, read_quantity

    try:
        return read_quantity(written)
    except UseError:
        spelt = re.search(r"[^\W\d].*|[\"'°].*", written)
        for unit in UNITS.values():
            if spelt and unit.dimension == wanted.dimension and fold(spelt[0]) in unit.spelt:
                return read_quantity(f"{written[: spelt.start()]} {unit.name}")
        raise


def _wrong_kind(relation: Relation, symbol: str, quantity: Quantity) -> list[str]:
    wanted = relation.symbols[symbol].unit
    if quantity.unit.dimension == wanted.dimension:
        return []
    given = f"in {quantity.unit.name}" if quantity.unit.name != "1" else "without a unit"
    says = relation.symbols[symbol].says
    return [f"`{symbol}` ({says}) is given {given}; give it in {wanted.name} or another unit of that kind"]


def _unit(relation: Relation, name: str | None) -> Unit:
    from grader.base.quantities import unit

    if name is None:
        return relation.result.unit
    wanted = unit(name)
    if wanted.dimension != relation.result.unit.dimension:
        own = relation.result.unit.name
        raise UseError(f"--unit {name} does not measure the {relation.says}; use {own} or another unit of that kind")
    return wanted


def _computed(relation: Relation, values: Mapping[str, Quantity], unit: Unit, as_json: bool) -> str:
    from grader.base.quantities import show

    result = relation(**{symbol: quantity.si for symbol, quantity in values.items()})
    steps = relation.working(values, unit)
    if as_json:
        found = {"value": unit.from_si(result), "unit": unit.name, "working": [step.as_json() for step in steps]}
        return json.dumps(found, ensure_ascii=False, indent=1)
    lines = [f"{relation.says}: {show(result, unit)}", f"{relation.text()}    ({relation.source})", ""]
    for step in steps:
        lines += [step.says] if step.says else []
        lines.append(f"    {step.text}")
    return "\n".join(lines)


def _listed(table: Mapping[str, Relation]) -> str:
    lines = []
    for relation in table.values():
        lines += [f"{relation.name}: {relation.says} [{relation.result.unit.name}]", f"    {relation.text()}"]
        for s in relation.arguments:
            default = "" if s.default is None else f", {s.shown(s.default, 7)} if left out"
            lines.append(f"    {s.name} [{s.unit.name}] {s.says}{default}")
        lines.append("")
    return "\n".join(lines).rstrip()


def _listed_json(table: Mapping[str, Relation]) -> dict[str, Any]:
    return {
        "relations": [
            {
                "name": relation.name,
                "says": relation.says,
                "formula": relation.formula,
                "unit": relation.result.unit.name,
                "symbols": [
                    {
                        "name": s.name,
                        "unit": s.unit.name,
                        "says": s.says,
                        "default": None if s.default is None else s.unit.from_si(s.default),
                    }
                    for s in relation.arguments
                ],
                "valid": relation.valid,
                "example": relation.example,
                "source": relation.source,
            }
            for relation in table.values()
        ]
    }
