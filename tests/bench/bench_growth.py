"""How the profiles that ship grow beside measured mixes, to be run by hand: python -m tests.bench.bench_growth

The open table of I-C. Yeh 1998 (concrete compressive strength, UCI repository, CC BY 4.0), Portland cement alone. At
each age the strength over that at 28 days: measured, of the mixes that were broken at both ages; by the hyperbolas that
`fit` puts through each mix of five ages or more; and by each profile. Equivalent ages are taken as the table's, cured
at about 20 °C.
"""

from statistics import median, quantiles

from curetrack.concrete.fitting import Fitted, fit_growth
from curetrack.errors import BadInput
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import shipped
from tests.reference.yeh import MIX_AGES, ratios_to_28_days

__all__ = ["AGES_d", "compared", "fits", "main"]

AGES_d = (1, 3, 7, 14, 56, 90)


def fits() -> tuple[list[Fitted], list[str]]:
    """The fitted mixes, and why the others were refused."""
    fitted, refused = [], []
    for mix in MIX_AGES:
        if len(mix) < 5:
            continue
        try:
            fitted.append(fit_growth(mix))
        except BadInput as error:
            refused.append(str(error))
    return fitted, refused


def compared(day: int) -> dict[str, float]:
    """Strength at an age over that at 28 days: measured (median, 10th, 90th percentile), by the fits, by profiles."""
    measured = sorted(ratios_to_28_days()[float(day)])
    tenths = quantiles(measured, n=10, method="inclusive") if len(measured) > 1 else measured * 9
    inside = [f for f in fits()[0] if f.from_h <= day * 24.0 <= f.to_h]
    found = {"mixes": len(measured), "median": median(measured), "p10": tenths[0], "p90": tenths[8]}
    if inside:
        found["fits"] = median(f.growth.strength_MPa(day * 24.0) / f.growth.strength_MPa(672.0) for f in inside)
    for name, path in shipped():
        growth = compile_profile(load_document(path), name).mix.growth
        found[name] = growth.strength_MPa(day * 24.0) / growth.strength_MPa(672.0)
    return found


def main() -> None:
    """Prints the tables."""
    fitted, refused = fits()
    print(f"{len(fitted)} mixes fitted, {len(refused)} refused")
    for title, values in (
        ("rate [/day]", [f.parameters[1].value for f in fitted]),
        ("scatter", [f.scatter for f in fitted]),
        ("R2 of the logarithms", [f.r2 for f in fitted]),
    ):
        low, *_, high = quantiles(values, n=10, method="inclusive")
        print(f"  {title:<22} median {median(values):.3f}, 10th to 90th percentile {low:.3f} to {high:.3f}")
    print(f"  start told by the breaks in {sum(not f.held[2] for f in fitted)} of them")
    print(*refused, sep="\n")
    names = [name for name, _ in shipped()]
    print("\nstrength over that at 28 days")
    print(f"{'age':>5} {'mixes':>6} {'median':>7} {'10-90 %':>14} {'fits':>6}", *(f"{name:>18}" for name in names))
    for day in AGES_d:
        row = compared(day)
        told = f"{row['fits']:6.3f}" if "fits" in row else "     -"
        print(
            f"{day:>3} d {row['mixes']:>6.0f} {row['median']:>7.3f} {row['p10']:>6.3f} - {row['p90']:.3f} {told}",
            *(f"{row[name]:>18.3f}" for name in names),
        )


if __name__ == "__main__":
    main()
