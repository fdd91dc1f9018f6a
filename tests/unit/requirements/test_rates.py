"""How a rate is built, and what it says where a fact or a condition is missing."""

from dataclasses import replace

import pytest
from scipy.optimize import brentq

from tests.reference.served_rooms import served
from ventwright.actions import load_rule_sets
from ventwright.house import Room, RoomKind
from ventwright.requirements import (
    BalanceBehind,
    BalanceState,
    HouseFacts,
    RateState,
    StepKind,
    Superposition,
    Trust,
    as_planned,
    cited_in,
    credited_flow,
    required_rates,
    superposed_flow,
)
from ventwright.uncertainty import Verdict

FT = 0.3048
CFM = FT**3 / 60
HOUSE = HouseFacts(floor_area_m2=2400 * FT**2, bedrooms=3)
BALANCED = BalanceState(
    verdict=Verdict.MET, imbalance_frac=0.0, behind=BalanceBehind.MEASURED, trust=Trust.READ
)


def rules(one):
    return load_rule_sets([one])[0]


def step(result, kind):
    return next(s for s in result.steps if s.kind is kind)


def test_equation_and_table_stand_side_by_side_and_say_which_was_used():
    result = required_rates(rules("ashrae_62_2_2019"), HOUSE)
    flows = {m.id: (round(m.flow_m3_s / CFM, 1), m.is_used) for m in result.methods}
    assert flows["equation"] == (102.0, True)
    assert flows["table"] == (105.0, False)
    assert flows["equation_si"][0] == pytest.approx(100.5, abs=0.1)
    by_table = required_rates(rules("ashrae_62_2_2019"), HOUSE, method="table")
    assert by_table.required_m3_s == pytest.approx(105 * CFM)
    with pytest.raises(ValueError, match="equation_si"):
        required_rates(rules("ashrae_62_2_2019"), HOUSE, method="guess")


def test_people_beyond_bedrooms_and_one_count_from_memory():
    crowded = required_rates(rules("ashrae_62_2_2019"), replace(HOUSE, people=6))
    assert crowded.required_m3_s == pytest.approx((102 + 15) * CFM)
    assert crowded.trust is Trust.MEMORY
    assert not crowded.is_compliance_claimable
    as_usual = required_rates(rules("ashrae_62_2_2019"), replace(HOUSE, people=4))
    assert as_usual.trust is Trust.SECOND_HAND
    assert as_usual.is_compliance_claimable


def test_a_missing_fact_gives_no_rate_and_says_which():
    result = required_rates(rules("approved_document_f_2021"), HouseFacts(bedrooms=2))
    assert result.state is RateState.MISSING_FACT
    assert result.required_m3_s is None
    assert [p.code for p in result.problems] == ["missing-floor_area"]


def test_alternatives_fall_to_the_first_that_can_be_worked_out():
    large = replace(HOUSE, floor_area_m2=6000 * FT**2)
    result = required_rates(rules("washington_2021"), large)
    assert next(m for m in result.methods if m.id == "table").reason_code == "beyond-table"
    assert result.total_m3_s == pytest.approx(90 * CFM)
    named = required_rates(rules("washington_2021"), large, method="table")
    assert named.state is RateState.MISSING_FACT
    assert named.problems[0].code == "beyond-table"


def test_a_rule_does_not_speak_beyond_its_range():
    result = required_rates(rules("din_1946_6_2019"), HouseFacts(floor_area_m2=250.0))
    assert result.state is RateState.MISSING_FACT
    assert result.problems[0].code == "beyond-range"


def test_least_flow_of_washington():
    tiny = HouseFacts(floor_area_m2=400 * FT**2, bedrooms=1)
    result = required_rates(rules("washington_2021"), tiny, method="equation")
    assert step(result, StepKind.LEAST).before_m3_s == pytest.approx(19 * CFM)
    assert step(result, StepKind.LEAST).after_m3_s == pytest.approx(30 * CFM)


def test_irc_credit_needs_both_conditions():
    whole = HouseFacts(**{**facts(HOUSE), **served(True)}, balance=BALANCED)
    assert required_rates(rules("irc_2021"), whole).required_m3_s == pytest.approx(42 * CFM)
    no_supply = HouseFacts(**{**facts(HOUSE), **served(False)}, balance=BALANCED)
    refused = step(required_rates(rules("irc_2021"), no_supply), StepKind.SHARE_CREDIT)
    assert not refused.is_applied
    assert refused.reason_codes == ("not-distributed",)
    assert refused.distribution.wanting == ("r0",)
    unmeasured = step(
        required_rates(rules("irc_2021"), replace(whole, balance=None)), StepKind.SHARE_CREDIT
    )
    assert unmeasured.reason_codes == ("balance-not-shown",)
    pulled = replace(BALANCED, verdict=Verdict.NOT_MET, imbalance_frac=0.3)
    result = required_rates(rules("irc_2021"), replace(whole, balance=pulled))
    assert step(result, StepKind.SHARE_CREDIT).reason_codes == ("not-balanced",)
    assert result.required_m3_s == pytest.approx(60 * CFM)


def test_fewer_rooms_than_bedrooms_show_no_distribution():
    listed = HouseFacts(**{**facts(HOUSE), **served(True), "bedrooms": 4}, balance=BALANCED)
    refused = step(required_rates(rules("irc_2021"), listed), StepKind.SHARE_CREDIT)
    assert refused.reason_codes == ("distribution-not-shown",)


def test_a_planned_balance_is_never_claimed():
    planned = as_planned(HouseFacts(**{**facts(HOUSE), **served(True)}))
    result = required_rates(rules("irc_2021"), planned)
    assert result.required_m3_s == pytest.approx(42 * CFM)
    assert result.is_balance_planned
    assert not result.is_compliance_claimable


def facts(house):
    return {name: getattr(house, name) for name in ("floor_area_m2", "bedrooms")}


def test_infiltration_credit_names_what_it_lacks_and_takes_nothing_off():
    result = required_rates(rules("ashrae_62_2_2019"), HOUSE)
    credit = step(result, StepKind.INFILTRATION_CREDIT)
    assert not credit.is_applied
    assert set(credit.reason_codes) == {
        "missing-height",
        "missing-leakage_flow",
        "missing-weather_shielding_factor",
        "missing-exterior_share",
    }
    assert result.required_m3_s == result.total_m3_s


LEAKY = replace(
    HOUSE,
    height_m=5.0,
    leakage_flow_m3_s=0.5,
    weather_shielding_factor=0.6,
    exterior_share_frac=1.0,
)


def test_credit_of_2010_is_for_existing_houses_and_from_memory():
    new = required_rates(rules("ashrae_62_2_2010"), replace(LEAKY, is_existing=False))
    assert step(new, StepKind.INFILTRATION_CREDIT).reason_codes == ("not-existing",)
    assert new.trust is Trust.SECOND_HAND
    old = required_rates(rules("ashrae_62_2_2010"), replace(LEAKY, is_existing=True))
    over = max(0.0, old.infiltration.flow_m3_s - 0.02 * 2400 * CFM)
    assert old.required_m3_s == pytest.approx(54 * CFM - 0.5 * over)
    assert old.trust is Trust.MEMORY


def test_unknown_imbalance_takes_the_smallest_credit_and_says_so():
    result = required_rates(rules("ashrae_62_2_2022"), LEAKY)
    credit = step(result, StepKind.INFILTRATION_CREDIT)
    assert set(credit.reason_codes) == {"exponent-assumed", "imbalance-assumed"}
    balanced = required_rates(rules("ashrae_62_2_2022"), replace(LEAKY, balance=BALANCED))
    assert balanced.required_m3_s < result.required_m3_s < result.total_m3_s


@pytest.mark.parametrize("imbalance", [0.0, 1e-9, 0.05, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("leak", [0.0, 1e-6, 0.2, 0.5, 0.9, 0.999, 1.0, 2.0])
def test_credited_flow_solves_the_superposition(imbalance, leak):
    # Independent: a bracketing root of total = fan + leak² / (leak + imbalance · fan).
    rule = rules("ashrae_62_2_2022").rate.infiltration
    found = credited_flow(
        rule,
        total_m3_s=1.0,
        infiltration_m3_s=leak,
        imbalance_frac=imbalance,
        is_balanced=False,
    )

    def short(fan):
        through = superposed_flow(
            Superposition.IMBALANCE_RATIO,
            supply_m3_s=fan * (1.0 - imbalance),
            extract_m3_s=fan,
            infiltration_m3_s=leak,
            is_balanced=False,
        )
        return through - 1.0

    expected = 0.0 if leak >= 1.0 else brentq(short, 0.0, 2.0, xtol=1e-14)
    assert found == pytest.approx(expected, abs=1e-9)


def test_superposition_by_the_three_forms():
    given = {"supply_m3_s": 0.0, "extract_m3_s": 4.0, "infiltration_m3_s": 3.0}
    forms = {form: superposed_flow(form, is_balanced=False, **given) for form in Superposition}
    assert forms[Superposition.QUADRATURE] == pytest.approx(5.0)
    assert forms[Superposition.FAN_RATIO] == pytest.approx(4.0 + 9.0 / 7.0)
    assert forms[Superposition.IMBALANCE_RATIO] == pytest.approx(4.0 + 9.0 / 7.0)
    equal = {"supply_m3_s": 4.0, "extract_m3_s": 4.0, "infiltration_m3_s": 3.0}
    for form in Superposition:
        assert superposed_flow(form, is_balanced=True, **equal) == pytest.approx(7.0)


def test_running_part_of_the_time():
    half = required_rates(rules("irc_2021"), replace(HOUSE, run_frac=0.5, period_s=3600.0))
    assert half.running_m3_s == pytest.approx(2 * half.required_m3_s)
    seldom = required_rates(rules("irc_2021"), replace(HOUSE, run_frac=0.2, period_s=3600.0))
    assert seldom.running_m3_s is None
    assert step(seldom, StepKind.CYCLING).reason_codes == ("below-table",)
    assert seldom.problems[0].code == "run-pattern-not-covered"
    long = required_rates(rules("irc_2021"), replace(HOUSE, run_frac=0.5, period_s=86400.0))
    assert step(long, StepKind.CYCLING).reason_codes == ("period-too-long",)
    silent = required_rates(rules("minnesota_1322"), replace(HOUSE, run_frac=0.5))
    assert silent.running_m3_s is None


def test_canadian_room_count():
    # 10 for one bedroom, 5 for each other, 5 for each other room, 10 for a basement; all in L/s.
    kinds = [RoomKind.BEDROOM] * 3 + [RoomKind.LIVING, RoomKind.KITCHEN, RoomKind.BATHROOM]
    rooms = [Room(id=f"r{i}", name="r", kind=kind) for i, kind in enumerate(kinds)]
    cellar = Room(id="c", name="Cellar", kind=RoomKind.STORE, storey=-1)
    house = HouseFacts(rooms=(*rooms, cellar))
    result = required_rates(rules("csa_f326_m91"), house)
    assert result.required_m3_s == pytest.approx(0.045)
    assert not result.is_compliance_claimable


def test_the_sources_of_a_rate_are_named_once():
    cited = cited_in(required_rates(rules("washington_2021"), HOUSE))
    assert {c.clause for c in cited} == {
        "table M1505.4.3(1)",
        "M1505.4.3",
        "table M1505.4.3(2), eq. 15-2",
    }
    assert len(cited) == len(set(cited))
