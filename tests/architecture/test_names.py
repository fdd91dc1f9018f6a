"""A number says in its name what it is measured in, and nobody can swap two of them."""

from __future__ import annotations

import ast
import dataclasses
import re

from tests.architecture import sources

ESTIMATES = {"Estimate"}
# A callable's own signature or a mapping's keys say nothing about the name that holds it.
NOT_A_NUMBER = {"Callable", "Mapping", "dict", "Counter", "str", "bytes", "bool", "Literal"}

# A name ends in a unit: its last word is one of these, with an exponent where there is one. Only SI
# is written here, so `_mm`, `_cfm` or `_f` never pass; `h` serves rates per hour, which the trade
# and the standards speak in.
UNIT = re.compile(
    r".+_(?:m|kg|s|pa|k|c|w|j|mol|rad|deg|1)[1-6]?|.+_(?:h|turns|frac|db_a|per_day)|1"
)
# Words that say by themselves that a number has no unit; alone or as the last word of a name.
DIMENSIONLESS = {
    *("ratio", "coeff", "factor", "exponent", "dof", "count", "index", "seed", "number", "digits"),
    *("line", "version", "effectiveness", "reynolds", "people", "bedrooms", "storey"),
    *("iterations", "share"),
}
# Helpers whose subject is a number of any measure: the measure is whatever the caller's value has,
# or that of the dimension handed in beside it (`_si`).
ANY_MEASURE = {
    "quantities": {"value", "offset", "u_expanded"},
    "uncertainty": {
        *("value", "values", "mean", "low", "high", "u_std", "u_std_needed", "half_width"),
        *("contribution", "partials", "terms", "extra", "z", "t"),
        *("resolution", "scatter_std", "drift"),
    },
    # Numbers of a protocol, named and counted as it does: baud, bytes and bits are their own units.
    "streams": {
        *("baud_rate", "stop_bits", "size_bytes", "words", "handle", "uuid16"),
        *("low", "high", "not_known"),
    },
    # A figure of recovery is a ratio and has no unit: the record's name says so.
    "recovery": {"estimate"},
    # One plain reading is of whatever its method reads.
    "instruments": {"estimate"},
}
# The kind of quantity a record's field is declared with, and the suffix that goes with it.
KIND_SUFFIXES = {
    "FlowM3S": "m3_s",
    "MassFlowKgS": "kg_s",
    "PressurePa": "pa",
    "TemperatureC": "c",
    "TemperatureDiffK": "k",
    "VelocityMS": "m_s",
    "LengthM": "m",
    "AreaM2": "m2",
    "VolumeM3": "m3",
    "TimeS": "s",
    "PowerW": "w",
    "FanEfficacyM3SW": "m3_s_w",
    "Frac": "frac",
    "HumidityRatioKgKg": "kg_kg",
    "MoistureRateKgS": "kg_s",
    "HeatRateW": "w",
    "DensityKgM3": "kg_m3",
    "AngleDeg": "deg",
    "Turns": "turns",
    "SoundLevelDbA": "db_a",
    "EnthalpyJKg": "j_kg",
    "ConcentrationFrac": "frac",
    "EnergyJ": "j",
    "AirChangeRate1H": "1_h",
    "FlowFactor": "factor",
}
# A plain number: which word says so is for the field to choose.
NUMBERS = {"float", "int", "Count", *KIND_SUFFIXES}

FORBIDDEN = {
    "unit": "unit_of_measure or ventilation_unit",
    "units": "units_of_measure or ventilation_units",
    "core": "exchanger_core",
    "k": "loss_coeff, flow_factor or coverage_factor",
    "error": "u_std, deviation or tolerance",
    "return_": "extract",
}


def is_numeric(annotation: ast.expr | None, kinds: set[str]) -> bool:
    names = sources.names_in(annotation)
    return bool(names & kinds) and not names & NOT_A_NUMBER


def is_scalar(annotation: ast.expr | None) -> bool:
    names = sources.names_in(annotation)
    return bool(names) and names <= NUMBERS | {"Annotated"}


def has_suffix(name: str, room: str) -> bool:
    """A unit ends the name; a dimensionless word or a name of any measure may be all of it."""
    if UNIT.fullmatch(name) or name.endswith("_si") or name in ANY_MEASURE.get(room, set()):
        return True
    return name.rpartition("_")[2] in DIMENSIONLESS


def test_every_number_names_its_unit() -> None:
    wrong = []
    for module in sources.modules():
        # In its own room an estimate is of anything; elsewhere it is of something.
        kinds = NUMBERS if module.room == "uncertainty" else NUMBERS | ESTIMATES
        for function in sources.public_functions(module):
            wrong += [
                f"{module.at(arg)} {function.name}({arg.arg})"
                for arg in sources.parameters(function)
                if is_numeric(arg.annotation, kinds) and not has_suffix(arg.arg, module.room)
            ]
        wrong += [
            f"{module.at(item)} {owner.name}.{name}"
            for owner, item, name in sources.public_fields(module)
            if is_numeric(item.annotation, kinds) and not has_suffix(name, module.room)
        ]
    assert not wrong, "\n".join(wrong)


def test_the_suffix_is_that_of_the_declared_kind() -> None:
    wrong = []
    for module in sources.modules():
        for owner, item, name in sources.public_fields(module):
            for kind in sources.names_in(item.annotation) & set(KIND_SUFFIXES):
                suffix = KIND_SUFFIXES[kind]
                if name != suffix and not name.endswith(f"_{suffix}"):
                    wrong.append(f"{module.at(item)} {owner.name}.{name} is a {kind}: _{suffix}")
    assert not wrong, "\n".join(wrong)


def test_two_numbers_are_never_positional() -> None:
    wrong = []
    for module in sources.modules():
        for function in sources.public_functions(module):
            arguments = function.args
            positional = [*arguments.posonlyargs, *arguments.args]
            swappable = [arg for arg in positional if is_scalar(arg.annotation)]
            if len(swappable) > 1:
                names = ", ".join(arg.arg for arg in swappable)
                wrong.append(f"{module.at(function)} {function.name}: {names}")
    assert not wrong, "\n".join(wrong)


def test_words_with_two_meanings_are_not_names() -> None:
    wrong = []
    for module in sources.modules():
        for part in module.path.relative_to(sources.PACKAGE).with_suffix("").parts:
            if part in FORBIDDEN:
                wrong.append(f"{module.at(module.tree)} a module: {FORBIDDEN[part]}")
        for function in sources.public_functions(module):
            wrong += [
                f"{module.at(arg)} {function.name}({arg.arg}): {FORBIDDEN[arg.arg]}"
                for arg in sources.parameters(function)
                if arg.arg in FORBIDDEN
            ]
        wrong += [
            f"{module.at(item)} {owner.name}.{name}: {FORBIDDEN[name]}"
            for owner, item, name in sources.public_fields(module)
            if name in FORBIDDEN
        ]
    assert not wrong, "\n".join(wrong)


def test_public_dataclasses_are_frozen_slotted_and_keyword_only() -> None:
    wrong = []
    for name, owner in sources.public_objects(type):
        if dataclasses.is_dataclass(owner):
            rules = {
                "frozen": owner.__dataclass_params__.frozen,
                "slots": "__slots__" in vars(owner),
                "kw_only": all(field.kw_only for field in dataclasses.fields(owner)),
            }
            wrong += [f"{name}: not {rule}" for rule, kept in rules.items() if not kept]
    assert not wrong, "\n".join(wrong)
