"""Same flows, different verdicts: the basis of 'within 10 %' decides, so each is kept apart."""

import tomllib
from pathlib import Path

import pytest

from ventwright.actions import load_rule_sets, shipped_rule_sets
from ventwright.quantities import UserError
from ventwright.requirements import (
    BalanceBasis,
    BalancePair,
    BalanceRule,
    Citation,
    FlowRule,
    Trust,
    imbalance_share,
    judge_balance,
    judge_flow,
    parse_rule_set,
)
from ventwright.uncertainty import DecisionRule, Verdict, exact, measured

CFM = 0.3048**3 / 60
OWN = Citation(source="own", trust=Trust.OWN)


def rule(basis, *, floor_cfm=0.0, decision_rule=DecisionRule.SIMPLE):
    return BalanceRule(
        pair=BalancePair.SUPPLY_EXTRACT,
        basis=basis,
        limit_frac=0.10,
        floor_m3_s=floor_cfm * CFM,
        decision_rule=decision_rule,
        citation=OWN,
    )


def verdict(rule_, supply_cfm, extract_cfm):
    return judge_balance(
        rule_,
        supply_m3_s=exact(supply_cfm * CFM),
        extract_m3_s=exact(extract_cfm * CFM),
        rule_set_id="own",
    )


@pytest.mark.parametrize(
    ("basis", "share"),
    [
        (BalanceBasis.SUPPLY, -0.150),
        (BalanceBasis.SMALLER, -0.1765),
        (BalanceBasis.AVERAGE, -0.1622),
        (BalanceBasis.EACH_FROM_AVERAGE, -0.0811),
    ],
)
def test_one_pair_of_flows_on_each_basis(basis, share):
    # Arithmetic by hand: 15/100, 15/85, 15/92.5, 7.5/92.5.
    found = imbalance_share(supply_si=exact(100.0), extract_si=exact(85.0), basis=basis)
    assert found.value == pytest.approx(share, abs=5e-5)


def test_supply_100_extract_85_fails_one_rule_and_passes_another():
    assert verdict(rule(BalanceBasis.SUPPLY), 100, 85).decision.verdict is Verdict.NOT_MET
    each = verdict(rule(BalanceBasis.EACH_FROM_AVERAGE), 100, 85)
    assert each.decision.verdict is Verdict.MET


def test_washington_floor_of_5_cfm_lets_40_and_35_pass():
    # IRC 2021 as amended by Washington, M1505.4.1.4 (text read): the greater of 10 % or 5 cfm.
    (washington,) = load_rule_sets(["washington_2021"])
    passes = verdict(washington.balance, 40, 35.01)
    assert passes.decision.verdict is Verdict.MET
    assert passes.is_floor_governing
    assert verdict(washington.balance, 40, 34.9).decision.verdict is Verdict.NOT_MET
    assert not verdict(washington.balance, 100, 91).is_floor_governing


def test_a_guarded_balance_inside_the_uncertainty_is_not_shown():
    supply = measured(100 * CFM, u_std=5 * CFM, id="s", label="s")
    extract = measured(95 * CFM, u_std=5 * CFM, id="e", label="e")
    found = judge_balance(
        rule(BalanceBasis.AVERAGE, decision_rule=DecisionRule.GUARDED),
        supply_m3_s=supply,
        extract_m3_s=extract,
        rule_set_id="own",
    )
    assert found.decision.verdict is Verdict.NOT_SHOWN
    assert found.decision.is_reading_within


def test_a_common_bias_cancels_in_the_share():
    supply = measured(100.0, u_std=5.0, id="meter", label="meter")
    extract = measured(95.0, u_std=4.75, id="meter", label="meter")
    share = imbalance_share(supply_si=supply, extract_si=extract, basis=BalanceBasis.AVERAGE)
    assert share.u_std == pytest.approx(0.0, abs=1e-12)


def test_flow_band_with_floor_and_hard_band():
    flow_rule = FlowRule(below_frac=0.1, above_frac=0.1, floor_m3_s=1.0 * CFM, citation=OWN)
    met = judge_flow(flow_rule, flow_m3_s=exact(5.9 * CFM), target_m3_s=5 * CFM, rule_set_id="own")
    assert met.decision.verdict is Verdict.MET
    held = judge_flow(
        flow_rule,
        flow_m3_s=exact(5.9 * CFM),
        target_m3_s=5 * CFM,
        rule_set_id="own",
        high_m3_s=5.5 * CFM,
    )
    assert held.decision.verdict is Verdict.NOT_MET


def test_a_rule_open_on_both_sides_judges_nothing():
    open_rule = FlowRule(citation=OWN)
    assert judge_flow(open_rule, flow_m3_s=exact(1.0), target_m3_s=1.0, rule_set_id="own") is None


def test_every_shipped_rule_set_reads_whole_and_cites_a_listed_source():
    sources = tomllib.loads(Path("docs/sources.toml").read_text(encoding="utf-8"))
    for rules in load_rule_sets(shipped_rule_sets()):
        for one in (rules.balance, rules.terminal, rules.total):
            assert one is None or one.citation.source in sources


def test_unknown_rule_set_names_what_is_shipped():
    with pytest.raises(UserError, match="own_targets"):
        load_rule_sets(["no_such_rules"])


def test_rules_beside_the_house_come_first(tmp_path):
    (tmp_path / "rules").mkdir()
    text = 'schema = "ventwright-rules-1"\nid = "own_targets"\nname = "Ours"\n'
    (tmp_path / "rules" / "own_targets.toml").write_text(text, encoding="utf-8")
    (ours,) = load_rule_sets(["own_targets"], beside=tmp_path)
    assert ours.name == "Ours"
    (tmp_path / "rules" / "bad.toml").write_text("schema = 1\n", encoding="utf-8")
    with pytest.raises(UserError, match="ventwright-rules-1"):
        load_rule_sets(["bad"], beside=tmp_path)


def test_a_mistake_in_a_rule_file_is_named_by_key():
    found, problems = parse_rule_set(
        {"schema": "ventwright-rules-1", "id": "x", "name": "X", "balance": {"limit": "ten"}}
    )
    assert found.balance is None
    assert {p.where for p in problems} >= {"balance.limit", "balance.pair", "balance.citation"}
