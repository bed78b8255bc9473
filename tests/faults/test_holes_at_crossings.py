"""Points of sync, handover, receive and doctor at which a promise once broke: each stays a case."""

from __future__ import annotations

import re
from collections.abc import Iterable

from faults.library import KINDS
from faults.many import Point, Trials
from faults.worlds import Crossing

KIND = {kind.name: kind for kind in KINDS}


def calls(scene: Crossing, pattern: str) -> list[int]:
    """Which calls of a clean run are meant: the last place where their letters match."""
    found = list(re.finditer(pattern, scene.count_calls()))
    assert found, (scene.name, pattern, scene.count_calls())
    return list(range(found[-1].start(1) + 1, found[-1].end(1) + 1))


def points(scene: Crossing, kinds: str, at: Iterable[int]) -> list[Point]:
    """Points of one scene; the kinds with a bar between."""
    return [Point(scene.name, KIND[kind], n) for n in at for kind in kinds.split("|")]


def test_a_folder_of_a_dead_run_is_taken_away_by_the_next(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """What was put together or looked through lay in git's folder for good."""
    tried = points(crossings["handover"], "kill before", (8, 60, 90))
    tried += points(crossings["receive"], "kill before", (8, 60))
    tried += points(crossings["receive update"], "ENOSPC from then on", (20,))
    assert trials.run(tried).all_broken == []


def test_a_full_disk_is_no_fault_of_the_program(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """What is put into such a folder was written past the words for a disk that refuses."""
    opened = calls(crossings["receive"], r"^(?:u|dowr)+(?:ds)+(ow)dsdd")
    tried = points(crossings["receive"], "ENOSPC from then on|EIO once", opened)
    assert trials.run(tried).all_broken == []


def test_what_the_doctor_looks_from_does_not_stay(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """It lay in the system's folder, where Python's own trial of that folder could stay too."""
    looks = calls(crossings["doctor torn"], r"((?:ds)+dddowowowow)ss")
    tried = points(crossings["doctor torn"], "kill before", looks[::6])
    assert trials.run(tried).all_broken == []


def test_half_a_handover_file_does_not_stay_beside_it(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """Outside the fleet no journal knows of it."""
    written = calls(crossings["handover"], r"u{8,}(owsrs)otw")
    tried = points(crossings["handover"], "kill after|torn write, kill", written[:3])
    assert trials.run(tried).all_broken == []


def test_a_change_of_owner_cut_short_is_finished_by_the_same_line(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """By then the aircraft is gone, so the next handover is an update that writes no record."""
    rest = calls(crossings["handover"], r"u{8,}owsrs(otw.*)$")
    tried = points(crossings["handover"], "kill before", rest[20::12])
    assert trials.run(tried).all_broken == []


def test_who_cannot_record_the_change_says_that_the_file_is_there(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    rest = calls(crossings["handover"], r"u{8,}owsrs(otw.*)$")
    tried = points(crossings["handover"], "EROFS from then on", rest[:40:12])
    assert trials.run(tried).all_broken == []


def test_a_letter_without_its_sum_does_not_stay_in_the_box(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """It was waited for by all who read the box, for ever."""
    posted = calls(crossings["sync"], r"dd(owsrsowsrs)u")
    assert trials.run(points(crossings["sync"], "kill after", posted[1:7:2])).all_broken == []


def test_a_joined_commit_keeps_no_name_of_its_own(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """The branch had it already, so the next line had nothing to join."""
    tried = points(
        crossings["sync"], "kill before", calls(crossings["sync"], r"(uoouuuuow)wsrus")[::3]
    )
    moved = calls(crossings["receive"], r"(uoouuuuow)wsrus")
    tried += points(crossings["receive"], "kill before", moved[::4])
    assert trials.run(tried).all_broken == []


def test_a_lock_that_git_could_not_remove_stops_no_later_sync(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """The sync was done, its mark gone, and nobody knew whose packed-refs.lock that was."""
    forgets = calls(crossings["sync"], r"rus(oouuuuuuuu)o")
    assert trials.run(points(crossings["sync"], "ENOSPC once", forgets[::2])).all_broken == []


def test_the_disks_trouble_is_not_the_letters(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """A letter that could not be kept was waited for as if refused, and the sync called done."""
    kept = calls(crossings["sync"], r"(ludowws)orosrs")
    assert trials.run(points(crossings["sync"], "EIO once", kept)).all_broken == []


def test_no_report_of_a_failed_import_stays_in_gits_folder(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    packed = calls(crossings["receive"], r"(owwsorowwwsodows)luodows")
    assert trials.run(points(crossings["receive"], "ENOSPC once", packed[8:14])).all_broken == []


def test_the_disks_trouble_is_not_the_files(crossings: dict[str, Crossing], trials: Trials) -> None:
    """Whoever received it was told to ask the sender again."""
    fetched = calls(crossings["receive"], r"m(wwromwwrouyudddowwowwluluowwooro)u")
    assert trials.run(points(crossings["receive"], "EIO once", fetched[-8:])).all_broken == []


def test_the_doctor_turns_no_branch_back_because_the_disk_is_full(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """A lost record could not be made again, so its commit was given up for the one before."""
    restores = calls(crossings["doctor"], r"srss((?:ds)+ddd.*?u)oss")
    tried = points(crossings["doctor"], "ENOSPC once", restores[::6])
    assert trials.run(tried).all_broken == []


def test_the_doctor_finds_its_own_half_files_among_the_names(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    rewrites = calls(crossings["doctor"], r"sluoss(dowsrs)u")
    assert trials.run(points(crossings["doctor"], "power cut", rewrites[1:4])).all_broken == []


def test_a_repository_on_a_path_keeps_what_it_was_sent(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """Its side of git flushed nothing: after a power cut what it had taken was empty files."""
    moves = calls(crossings["sync repository"], r"u{6}dodow[dowslu]*?((?:udl){6,})u")
    tried = points(crossings["sync repository"], "power cut", moves[::12])
    assert trials.run(tried).all_broken == []


def test_locks_in_a_repository_on_a_path_do_not_stay(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """Every later sync said that others had changed the repository five times in a row."""
    scene = crossings["sync repository"]
    ends = calls(scene, r"u{9}(owwsoorouo)w")
    tried = points(scene, "kill after|EROFS from then on", ends[::2])
    # One that git could not remove, while the sync itself was done.
    after = calls(scene, r"u{9}owwsoor(ouowsrsus)")
    tried += points(scene, "ENOSPC once|EIO once", after)
    assert trials.run(tried).all_broken == []
