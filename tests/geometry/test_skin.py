"""The nearest metal round straight and bent passages, against closed forms and scipy's k-d tree."""

from __future__ import annotations

from math import cos, pi

import numpy as np
import pytest
from scipy.spatial import cKDTree

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.skin import Skin, skin_of, wall_of

RADIUS, LONG = 14.0, 40.0
AXIS = 1  # a straight port runs along y
RAYS = 256
CHORD = RADIUS * (1.0 - cos(pi / RAYS))  # what the wall between two rays stands in from the circle


@pytest.fixture(scope="module")
def tube(lofted) -> Skin:
    return skin_of(wall_of(lofted([0.0, LONG], [circle(2.0 * RADIUS)] * 2).cast.surface))


@pytest.fixture(scope="module")
def elbow(lofted) -> Skin:
    """A right-angled bend with corners, 40 mm round its middle."""
    angle = np.linspace(0.0, 90.0, 7)
    outline = rectangle(26.0, 20.0, CornerRadii(3.0, 3.0, 8.0, 8.0))
    return skin_of(wall_of(lofted(40.0 * np.radians(angle), [outline] * 7, pitch_deg=angle).cast.surface))


def somewhere(count: int, low, high) -> np.ndarray:
    return np.random.default_rng(5).uniform(low, high, (count, 3)).T.astype(np.float32)


def room(skin: Skin, places: np.ndarray) -> np.ndarray:
    return skin.room_mm(places, skin.nearest(places))


def test_in_a_tube_it_is_the_distance_to_the_wall(tube) -> None:
    places = somewhere(20_000, [-RADIUS, 2.0, -RADIUS], [RADIUS, LONG - 2.0, RADIUS])
    exact = RADIUS - np.hypot(places[0], places[2])
    inside = exact > 0.0
    # a place stands for the flat round it, out to half of what it stands from the next
    assert np.abs(room(tube, places) - exact)[inside].max() < 0.75**2 / (2.0 * RADIUS) + CHORD + 0.01


def test_in_the_metal_behind_a_lip_the_nearer_of_wall_and_face_counts(tube) -> None:
    places = somewhere(20_000, [-30.0, -0.0, -30.0], [30.0, LONG, 30.0])
    deep = np.hypot(places[0], places[2]) - RADIUS
    behind = np.minimum(places[AXIS], LONG - places[AXIS])
    exact = -np.minimum(deep, behind)
    shallow = (deep > 0.0) & (exact > -12.0)
    assert np.abs(room(tube, places) - exact)[shallow].max() < 0.1


def test_in_front_of_a_face_it_is_the_face_however_far_from_the_lip(tube) -> None:
    places = somewhere(5_000, [-90.0, -20.0, -90.0], [90.0, -0.1, 90.0])
    beyond = np.hypot(places[0], places[2]) > RADIUS
    assert room(tube, places[:, beyond]) == pytest.approx(-places[AXIS, beyond], abs=1e-3)


def test_in_front_of_a_mouth_it_is_the_lip(tube) -> None:
    places = somewhere(5_000, [-RADIUS, -20.0, -RADIUS], [RADIUS, -0.1, RADIUS])
    out = RADIUS - np.hypot(places[0], places[2])
    exact = np.hypot(out, places[AXIS])
    before = out > 0.0
    # aside by half of what the lip's places stand apart, at most
    lip = tube.places_mm[:, np.unique(tube.home)[:RAYS]]
    aside = 0.5 * np.linalg.norm(np.roll(lip, -1, axis=1) - lip, axis=0).max()
    off = room(tube, places)[before] - exact[before]
    assert off.min() > -1e-3
    assert (off - (np.hypot(exact[before], aside) - exact[before])).max() < 1e-3


@pytest.mark.parametrize("apart_mm", [0.0, 1.25, 2.5])
def test_downhill_from_near_leads_to_the_nearest_of_all(elbow, apart_mm: float) -> None:
    own = np.unique(elbow.home)
    tree = cKDTree(elbow.places_mm[:, own].T)
    places = somewhere(40_000, elbow.places_mm.min(axis=1) - 3.0, elbow.places_mm.max(axis=1) + 3.0)
    least, _ = tree.query(places.T)
    places, least = places[:, least < 8.0], least[least < 8.0]
    rng = np.random.default_rng(7)
    begins = [own[tree.query((places + apart_mm * rng.choice([-1.0, 1.0], (3, 1))).T)[1]] for _ in range(4)]
    found = elbow.nearest_from(places, *begins)
    further = np.linalg.norm(places - elbow.places_mm[:, found], axis=0) - least
    assert np.isin(found, own).all()
    # two walls as good as equally near may be mistaken for each other, no more
    assert further.max() < 0.3 * apart_mm + 1e-4
    assert (further > 0.01).mean() < 0.005


def test_without_a_beginning_the_nearest_of_all_is_found_too(elbow) -> None:
    own = np.unique(elbow.home)
    places = somewhere(20_000, elbow.places_mm.min(axis=1) - 5.0, elbow.places_mm.max(axis=1) + 5.0)
    least, _ = cKDTree(elbow.places_mm[:, own].T).query(places.T)
    further = np.linalg.norm(places - elbow.places_mm[:, elbow.nearest(places)], axis=0) - least
    assert further.max() < 0.1
    assert (further > 0.01).mean() < 0.001
