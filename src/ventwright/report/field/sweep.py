"""A timed average in a sentence: mean, steadiness, and how long to go on."""

from __future__ import annotations

from ventwright.quantities import NumberStyle, decimals_for
from ventwright.report.wording import words_of
from ventwright.uncertainty import TimedAverage


def sweep_text(
    found: TimedAverage,
    *,
    sample_count: int,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    language: str = "en",
) -> str:
    """What a sweep amounts to so far.

    Parameters
    ----------
    found
        The average.
    sample_count
        Of how many samples.
    number_style
        Decimal mark.
    language
        Of the catalogue.

    >>> from ventwright.uncertainty import timed_average
    >>> one = timed_average([4.0, 6.0, 5.0, 6.0, 4.0, 5.0], interval_s=2.0, wanted_frac=0.5)
    >>> print(sweep_text(one, sample_count=6))
    Mean 5.0 ± 0.9 of 6 samples in 12 s, from scatter and last digit alone. Steady. That is enough.
    """
    words = words_of(language, "words_field")
    spread = None if found.u_std is None else found.coverage_factor * found.u_std
    decimals = max(decimals_for(spread), 0) if spread else 3
    count, time = str(sample_count), f"{found.elapsed_s:.0f}"
    mean = _number(found.mean, decimals, number_style)
    if spread is None:
        return words.say("field-sweep.few", mean=mean, count=count)
    parts = [
        words.say(
            "field-sweep.mean",
            mean=mean,
            spread=_number(spread, decimals, number_style),
            count=count,
            time=time,
        ),
        words.say("field-sweep.steady" if found.is_steady else "field-sweep.drift"),
    ]
    if found.go_on_s == 0.0:
        parts.append(words.say("field-sweep.enough"))
    elif found.go_on_s is None and found.mean != 0.0:
        parts.append(words.say("field-sweep.coarse"))
    elif found.go_on_s is not None and found.is_steady:
        parts.append(words.say("field-sweep.go-on", time=f"{found.go_on_s:.0f}"))
    return " ".join(parts)


def _number(value: float, decimals: int, number_style: NumberStyle) -> str:
    text = f"{value:.{decimals}f}"
    return text.replace(".", ",") if number_style is NumberStyle.DECIMAL_COMMA else text
