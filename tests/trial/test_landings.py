"""What a trial leaves behind: where tubes were found to land, and a chance that knows it."""

from sketcher.document import with_changes
from sketcher.document.plate import FitReading
from sketcher.sureness.assessment import assess
from sketcher.trial.analysis import apply, judge
from tests.sureness.builds import document


def test_made_moves_keep_the_landings_and_raise_the_chance() -> None:
    before = document(1.25)
    first = before.ports[0]
    readings = [
        FitReading(port=port.id, dx_mm=3.0 if port.id == first.id else 0.1, dy_mm=0.0, spread_mm=0.3)
        for port in before.ports
    ]
    tried = with_changes(before, fit_readings=readings)
    after = apply(tried, judge(tried))
    assert after.fit_readings == ()
    landing = next(row for row in after.landings if row.serves == first.serves)
    assert (landing.x_mm, landing.y_mm) == (first.x_mm + 3.0, first.y_mm)
    chances = [assess(one, advice=False).chance for one in (before, tried, after)]
    assert all(chance is not None for chance in chances)
    # As tried, one tube misses by 3 mm; once its port has moved, the trial's knowledge makes the next fit surer.
    assert (chances[1] or 0) < 0.2 < (chances[0] or 0) < (chances[2] or 0)


def test_a_later_trial_takes_the_place_of_an_earlier_one() -> None:
    once = document(1.25, landings=True)
    readings = [FitReading(port=port.id, dx_mm=0.5, dy_mm=0.5, spread_mm=0.2) for port in once.ports]
    after = apply(once, judge(once, readings))
    assert len(after.landings) == len(once.ports)
    assert {row.spread_mm for row in after.landings} == {0.2}
