"""Sentences say the places in them by the host's numbers, or by any names they are given."""

from __future__ import annotations

import pickle

from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.findings import Finding, Location, Severity, gathered
from stowfold.geometry.sentence import EdgeRef, FaceRef, Listed, PointRef, Sentence


def test_without_names_a_sentence_gives_the_numbers_of_the_host():
    sentence = Sentence.of(FaceRef(3, "House"), " meets ", Listed((EdgeRef(4), EdgeRef(7), EdgeRef(9))), ".")
    assert str(sentence) == "Face 3 meets edges 4, 7 and 9."
    assert str(Sentence.of("It lies ", PointRef((1.0, 2.04, -3.0)), ".")) == "It lies at x 1.0, y 2.0, z -3.0 mm."


def test_of_many_places_a_sentence_lists_the_first_six():
    sentence = Sentence.of("Mend ", Listed(tuple(FaceRef(k) for k in range(9))), ".")
    assert str(sentence) == "Mend faces 0, 1, 2, 3, 4, 5 and more."


def test_words_that_look_like_a_place_stay_words():
    sentence = Sentence.of("'Face 7' at x 1, y 2, z 3 mm stands on ", FaceRef(0), ", 12 mm off.")
    assert sentence.say(lambda _place, _goes_on: "the WALL") == (
        "'Face 7' at x 1, y 2, z 3 mm stands on the WALL, 12 mm off."
    )


def test_a_name_hears_whether_the_sentence_goes_on_behind_a_space():
    sentence = Sentence.of(FaceRef(0), " and ", FaceRef(1), ".")
    assert sentence.say(lambda place, goes_on: f"{place.number}{goes_on}") == "0True and 1False."


def test_a_sentence_within_a_sentence_keeps_its_places():
    inner = Sentence.of("flatten ", FaceRef(2), " first")
    assert Sentence.of("It fails; ", inner, ".").pieces == ("It fails; ", "flatten ", FaceRef(2), " first", ".")


def test_findings_that_say_the_same_of_several_places_keep_the_places_in_their_sentence():
    sentence = Sentence.of("Beside ", FaceRef(3, "House"), " it ends.")
    found = [Finding(Severity.NOTE, "board-warp", sentence, Location(edges=(k,))) for k in (1, 2)]
    (joined,) = gathered(found)
    assert joined.message == "At 2 places: Beside face 3 it ends."
    assert FaceRef(3, "House") in joined.sentence.pieces


def test_a_finding_and_an_error_with_places_are_pickled_and_read_as_text():
    sentence = Sentence.of(FaceRef(3), " is too narrow.")
    finding = pickle.loads(pickle.dumps(Finding(Severity.NOTE, "board-warp", sentence)))
    assert (finding.sentence, finding.message) == (sentence, "Face 3 is too narrow.")
    assert str(pickle.loads(pickle.dumps(UnreadableError(sentence)))) == "Face 3 is too narrow."
