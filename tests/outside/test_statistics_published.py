"""Statistics against NIST's reference sets and handbook, scipy and statsmodels."""

import numpy as np
import pytest
from scipy import stats
from statsmodels.api import OLS, add_constant
from statsmodels.stats.inter_rater import cohens_kappa as statsmodels_cohens_kappa
from statsmodels.stats.inter_rater import fleiss_kappa as statsmodels_fleiss_kappa

from sync.trade import season, spots
from sync.trade.quantiles import chi_square_quantile_even, t_between, t_quantile
from sync.trade.trends import Point, fit

#: NIST StRD Norris (calibration of ozone monitors): y, x.
NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3  449.1 448.6
778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3  0.6 0.3  557.6 556.8  339.3 339.1
888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""
LINE = [12.0, 11.6, 11.1, 10.8, 10.2]


def norris() -> list[Point]:
    values = [float(value) for value in NORRIS.split()]
    return [Point(x, y) for y, x in zip(values[::2], values[1::2], strict=True)]


def test_the_line_through_norris_is_the_certified_one() -> None:
    """NIST StRD Norris: B0, B1 and residual standard deviation as certified, to 10 digits."""
    line = fit(norris())
    assert line.n == 36
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.spread == pytest.approx(0.884796396144373, rel=1e-10)


def test_the_slopes_error_through_norris_is_the_certified_one() -> None:
    """NIST StRD Norris: standard deviation of B1."""
    assert fit(norris()).slope_error() == pytest.approx(0.429796848199937e-03, rel=1e-10)


def test_a_short_line_predicts_with_the_interval_computed_beforehand() -> None:
    """Days 0-4: 12.02 - 0.44 d; day 6: 9.38 +/- 0.3889 (95 %), computed with scipy."""
    line = fit([Point(day, value) for day, value in enumerate(LINE)])
    assert (line.intercept, line.slope) == (pytest.approx(12.02), pytest.approx(-0.44))
    assert (line.at(6), line.half_width(6)) == (pytest.approx(9.38), pytest.approx(0.3889, abs=5e-5))


def test_a_prediction_interval_is_statsmodels_own() -> None:
    """statsmodels OLS get_prediction, obs_ci at 95 %, over Norris."""
    points = norris()
    model = OLS([p.value for p in points], add_constant(np.array([p.x for p in points]))).fit()
    low, high = model.get_prediction([[1, 1200.0]]).conf_int(obs=True, alpha=0.05)[0]
    assert fit(points).half_width(1200) == pytest.approx((high - low) / 2, rel=1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 17, 30, 101])
@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
def test_students_t_is_scipys(confidence: float, freedom: int) -> None:
    t = t_quantile(confidence, freedom)
    assert t == pytest.approx(stats.t.ppf((1 + confidence) / 2, freedom), rel=1e-10)
    assert t_between(t, freedom) == pytest.approx(stats.t.cdf(t, freedom) - stats.t.cdf(-t, freedom), rel=1e-12)


@pytest.mark.parametrize(("freedom", "t"), [(1, 12.706), (2, 4.303), (4, 2.776), (10, 2.228), (30, 2.042)])
def test_students_t_is_that_of_the_printed_table(freedom: int, t: float) -> None:
    """NIST e-Handbook 1.3.6.7.2, two-sided 95 %."""
    assert t_quantile(0.95, freedom) == pytest.approx(t, abs=5e-4)


@pytest.mark.parametrize("pairs", [1, 2, 5, 20])
@pytest.mark.parametrize("probability", [0.05, 0.5, 0.95])
def test_chi_square_is_scipys(probability: float, pairs: int) -> None:
    assert chi_square_quantile_even(probability, pairs) == pytest.approx(
        stats.chi2.ppf(probability, 2 * pairs), rel=1e-10
    )


def test_hours_without_a_failure_have_a_lower_bound_only() -> None:
    """800 h, one-sided 95 %: 267.05 h."""
    assert season.mtbf_lower_bound(800, 0) == pytest.approx(267.05, abs=0.005)


def test_a_bound_with_failures_is_by_chi_square_as_nist_has_it() -> None:
    """NIST e-Handbook 8.4.5.1: 2 T / chi-square(1 - alpha; 2 r + 2), the quantile by scipy."""
    assert season.mtbf_lower_bound(1500, 10, 0.9) == pytest.approx(3000 / stats.chi2.ppf(0.9, 22), rel=1e-10)


def test_the_handbooks_repair_times_have_its_laplace_statistic() -> None:
    """NIST e-Handbook 8.2.3.4: times 5 .. 1478 of 1500; -1.3269 (computed beforehand)."""
    times = (5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478)
    assert season.laplace(times, 1500) == pytest.approx(-1.3269, abs=5e-5)


def test_laplace_is_a_uniform_mean_standardised() -> None:
    """By another way: mean and variance of uniform times, from scipy."""
    times = (10.0, 60.0, 90.0)
    uniform = stats.uniform(0, 100)
    expected = (np.mean(times) - uniform.mean()) / (uniform.std() / np.sqrt(3))
    assert season.laplace(times, 100) == pytest.approx(expected)


def test_availability_counts_the_time_waiting_for_parts() -> None:
    """MTBM / (MTBM + MMT + MLDT): 60, 5, 15 -> 0.75."""
    assert season.operational_availability(60, 5, 15) == 0.75


TABLE = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]


@pytest.mark.parametrize(("weighted", "kappa"), [(False, 0.4842), (True, 0.4701)])
def test_two_lookers_agree_as_in_statsmodels_sas_checked_case(weighted: bool, kappa: float) -> None:
    """statsmodels' own test, checked there against SAS; weights 0, 1, 2."""
    found = season.cohens_kappa(TABLE, weighted=weighted)
    assert found == pytest.approx(kappa, abs=5e-5)
    model = statsmodels_cohens_kappa(np.array(TABLE), wt="linear" if weighted else None, return_results=True)
    assert found == pytest.approx(model.kappa, rel=1e-12)


#: Fleiss's example: 10 subjects, 5 grades, 14 lookers.
FLEISS = [
    [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
    [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
]  # fmt: skip


def test_fourteen_lookers_agree_as_published() -> None:
    """Fleiss kappa of the published 10 x 5 table: 0.20993; statsmodels gives the same."""
    assert season.fleiss_kappa(FLEISS) == pytest.approx(0.20993, abs=5e-6)
    assert season.fleiss_kappa(FLEISS) == pytest.approx(statsmodels_fleiss_kappa(np.array(FLEISS)), rel=1e-12)


def test_the_odd_ones_are_those_of_the_modified_z_score() -> None:
    """NIST e-Handbook 1.3.5.17: |0.6745 (x - median) / MAD| > 3.5, the MAD by scipy."""
    rng = np.random.default_rng(614)
    for _ in range(200):
        values = rng.normal(60, 4, size=6)
        values[rng.integers(6)] += rng.choice([0, 25, -25])
        scores = 0.6745 * (values - np.median(values)) / stats.median_abs_deviation(values)
        found = spots.odd_ones({str(n): float(v) for n, v in enumerate(values)}, 0)
        assert [one.spot for one in found.odd] == [str(n) for n in np.flatnonzero(np.abs(scores) > 3.5)]
