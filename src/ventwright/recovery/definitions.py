"""What each figure of recovery means, after which text, and how far that text is known.

The same four readings give figures that differ by tenths, each right by its own definition. So a
figure never stands without its kind, and only figures of one kind are compared.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from ventwright.quantities import SourceTrust
from ventwright.quantities.records import dataclass


class RatioKind(StrEnum):
    """The kinds of recovery figure; stable codes."""

    SUPPLY_TEMPERATURE_RATIO = "supply-temperature-ratio"
    EXTRACT_TEMPERATURE_RATIO = "extract-temperature-ratio"
    SUPPLY_HUMIDITY_RATIO = "supply-humidity-ratio"
    EXTRACT_HUMIDITY_RATIO = "extract-humidity-ratio"
    SENSIBLE_SUPPLY = "sensible-supply"
    SENSIBLE_EXTRACT = "sensible-extract"
    LATENT_SUPPLY = "latent-supply"
    LATENT_EXTRACT = "latent-extract"
    TOTAL_SUPPLY = "total-supply"
    TOTAL_EXTRACT = "total-extract"
    ENTHALPY_RECOVERY_RATIO = "enthalpy-recovery-ratio"
    APPARENT_SENSIBLE = "apparent-sensible"
    NET_SENSIBLE = "net-sensible"
    SENSIBLE_RECOVERY_EFFICIENCY = "sensible-recovery-efficiency"
    DRY_HEAT_RECOVERY = "dry-heat-recovery"
    EXHAUST_TRANSFER = "exhaust-transfer"
    OUTDOOR_AIR_CORRECTION = "outdoor-air-correction"


@dataclass(frozen=True, slots=True, kw_only=True)
class Definition:
    """One kind of figure in words and as a formula, with the text it is named after.

    States: 1 outdoor, 2 supply, 3 extract, 4 exhaust air. ``C`` is the heat capacity rate, ``m``
    the mass flow of dry air; ``s`` and ``e`` the supply and the extract side.
    """

    kind: RatioKind
    words: str
    formula: str
    standard: str
    source_key: str
    trust: SourceTrust


_ASHRAE = ("ANSI/ASHRAE Standard 84", "ashrae_84", SourceTrust.MEMORY)
_EN = ("EN 13141-7 and EN 308", "en_13141_7", SourceTrust.MEMORY)
_CSA = ("CSA C439", "csa_c439", SourceTrust.SECOND_HAND)
_ENERGYPLUS = ("EnergyPlus Engineering Reference", "energyplus_engineering", SourceTrust.READ)

_TABLE: tuple[tuple[RatioKind, str, str, tuple[str, str, SourceTrust]], ...] = (
    (
        RatioKind.SUPPLY_TEMPERATURE_RATIO,
        "temperature ratio, supply side, no flow weighting",
        "(T2 − T1)/(T3 − T1)",
        _EN,
    ),
    (
        RatioKind.EXTRACT_TEMPERATURE_RATIO,
        "temperature ratio, extract side, no flow weighting",
        "(T3 − T4)/(T3 − T1)",
        _EN,
    ),
    (
        RatioKind.SUPPLY_HUMIDITY_RATIO,
        "humidity ratio recovered, supply side, no flow weighting",
        "(W2 − W1)/(W3 − W1)",
        _EN,
    ),
    (
        RatioKind.EXTRACT_HUMIDITY_RATIO,
        "humidity ratio recovered, extract side, no flow weighting",
        "(W3 − W4)/(W3 − W1)",
        _EN,
    ),
    (
        RatioKind.SENSIBLE_SUPPLY,
        "sensible effectiveness, supply side, C_min weighted",
        "C_s (T2 − T1)/[C_min (T3 − T1)]",
        _ENERGYPLUS,
    ),
    (
        RatioKind.SENSIBLE_EXTRACT,
        "sensible effectiveness, extract side, C_min weighted",
        "C_e (T3 − T4)/[C_min (T3 − T1)]",
        _ASHRAE,
    ),
    (
        RatioKind.LATENT_SUPPLY,
        "latent effectiveness, supply side, m_min weighted",
        "m_s (W2 − W1)/[m_min (W3 − W1)]",
        _ASHRAE,
    ),
    (
        RatioKind.LATENT_EXTRACT,
        "latent effectiveness, extract side, m_min weighted",
        "m_e (W3 − W4)/[m_min (W3 − W1)]",
        _ASHRAE,
    ),
    (
        RatioKind.TOTAL_SUPPLY,
        "total effectiveness, supply side, m_min weighted",
        "m_s (h2 − h1)/[m_min (h3 − h1)]",
        _ASHRAE,
    ),
    (
        RatioKind.TOTAL_EXTRACT,
        "total effectiveness, extract side, m_min weighted",
        "m_e (h3 − h4)/[m_min (h3 − h1)]",
        _ASHRAE,
    ),
    (
        RatioKind.ENTHALPY_RECOVERY_RATIO,
        "enthalpy recovery ratio, no flow weighting, leakage not corrected",
        "(h1 − h2)/(h1 − h3)",
        ("California Energy Code 2022, glossary", "california_err", SourceTrust.READ),
    ),
    (
        RatioKind.APPARENT_SENSIBLE,
        "apparent sensible effectiveness at equal flows: fan heat, casing gain and cross leakage "
        "are still in it",
        "(T2 − T1)/(T3 − T1)",
        _CSA,
    ),
    (
        RatioKind.NET_SENSIBLE,
        "sensible effectiveness of the exchanger itself, supply side: fan heat, casing gain and "
        "cross leakage taken out as far as they are known",
        "C_s (T2' − T1)/[C_min (T3 − T1)], T2' = (T2 − (P_sf + Q_casing)/C_s − x T3)/(1 − x)",
        ("heat balance, no standard", "heat_balance", SourceTrust.COMPUTED),
    ),
    (
        RatioKind.SENSIBLE_RECOVERY_EFFICIENCY,
        "sensible recovery efficiency in heating: net of fan heat, fan power charged",
        "[C_s (T2 − T1) − P_sf − Q_casing − x C_s (T3 − T1)]/[C_e (T3 − T1) + P_ef]",
        _CSA,
    ),
    (
        RatioKind.DRY_HEAT_RECOVERY,
        "effective dry heat recovery, extract side, electric power credited",
        "[(T3 − T4) + P_el/C_e]/(T3 − T1)",
        ("Passive house component criteria", "phi_ventilation", SourceTrust.MEMORY),
    ),
    (
        RatioKind.EXHAUST_TRANSFER,
        "share of extract air in the supply air",
        "(c2 − c1)/(c3 − c1)",
        _ASHRAE,
    ),
    (
        RatioKind.OUTDOOR_AIR_CORRECTION,
        "outdoor air taken in over supply air delivered",
        "m1/m2",
        ("ANSI/ASHRAE Standard 84", "ashrae_84_oacf", SourceTrust.SECOND_HAND),
    ),
)

DEFINITIONS: Mapping[RatioKind, Definition] = {
    kind: Definition(
        kind=kind,
        words=words,
        formula=formula,
        standard=standard,
        source_key=source_key,
        trust=trust,
    )
    for kind, words, formula, (standard, source_key, trust) in _TABLE
}
