"""What opens and closes (air, dew point) is not for a hand check to say; and what lies behind an unseen wetting."""

from tests.timeline.making import course, done, hourly, line, passed, poured, solved, steady, step

COAT = step(
    "seal",
    'not_before = { age = "24 h", air = { from = "10 degC" } }\nhold = true\ncheck = "Evenly pale."',
    kind="coat",
)


def weather(*days_degC: float, humidity_pct: float | None = None):
    """A day at each temperature from the pour on, read every hour; the last one holds."""
    last = len(days_degC) - 1
    temp = lambda hour: days_degC[min(last, max(0, int(hour // 24)))]  # noqa: E731 - a function of the hour
    return course(hourly(temp, until=24.0 * len(days_degC), humidity_pct=humidity_pct))


def test_a_pass_does_not_open_a_coat_in_air_that_is_too_cold() -> None:
    cold = solved(COAT, weather(12.0, 12.0, 4.0), 70.0, poured(), passed("seal", 40.0))
    assert line(cold, "seal").state == "waiting"


def test_the_pass_is_remembered_until_the_air_allows_it() -> None:
    warm = solved(COAT, weather(12.0, 12.0, 4.0, 12.0), 90.0, poured(), passed("seal", 40.0))
    assert line(warm, "seal").state == "ready"


def test_no_moment_is_named_for_a_check_while_the_air_stays_too_cold() -> None:
    cold = solved(COAT, weather(12.0, 12.0, 4.0), 70.0, poured())
    assert line(cold, "seal").check_from is None


def test_drying_behind_a_wetting_that_is_not_in_sight_has_no_time() -> None:
    steps = step("fill", 'not_before = { air = { from = "10 degC" } }\nwets = true', kind="fill")
    steps += step("dry", 'not_before = { drying = "24 h" }', after="fill", kind="dry")
    found = solved(steps, weather(4.0, 4.0, humidity_pct=50.0), 47.0, poured())
    assert (line(found, "fill").plan_at, line(found, "dry").ready_at) == (None, None)
    assert line(found, "dry").reasons[0].rule == "predecessor"


def test_once_it_is_wetted_the_drying_has_its_time() -> None:
    steps = step("fill", 'not_before = { air = { from = "10 degC" } }\nwets = true', kind="fill")
    steps += step("dry", 'not_before = { drying = "24 h" }', after="fill", kind="dry")
    assert line(solved(steps, steady(20.0, 50.0), 47.0, poured(), done("fill", 20.0)), "dry").ready_at is not None
