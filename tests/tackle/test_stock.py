"""Rows of the box become the plain box the advice chooses from."""

import pytest

from guiding.tackle.models import Fly, FlyPattern, LeaderMaterial, Line, Tip
from guiding.tackle.stock import tackle_box


@pytest.mark.django_db
def test_only_what_is_owned_is_in_the_box(django_assert_num_queries):
    pattern = FlyPattern.objects.create(name="Dark Wing", role="point", colours=["black"])
    Fly.objects.create(pattern=pattern, length_mm=19, hook_size=10, count=2)
    Fly.objects.create(pattern=pattern, length_mm=23, hook_size=8, count=0)
    Line.objects.create(name="Floating", kind="floating")
    Tip.objects.create(name="Fast", length_m=3.0, sink_ips=7)
    Tip.objects.create(name="Lost", length_m=3.0, sink_ips=3, count=0)
    LeaderMaterial.objects.create(material="nylon", diameter_mm=0.25)

    with django_assert_num_queries(4):
        box = tackle_box()

    assert [(fly.pattern, fly.length_mm, fly.colours) for fly in box.flies] == [
        ("Dark Wing", 19, ("black",))
    ]
    assert [(tip.name, tip.sink_cm_s) for tip in box.tips] == [("Fast", pytest.approx(17.78))]
    assert [line.kind for line in box.lines] == ["floating"]
    assert [m.diameter_mm for m in box.materials] == [0.25]
