"""All rules, and the one function that runs them.

To add a rule: a function `check_…(survey)` that yields problems, a row in `CHECKS`,
and a folder for each new code in tests/problems/.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from register.checks.access import check_disturbed_known
from register.checks.as_built import check_sections_read
from register.checks.built_entries import check_entries_say_something
from register.checks.built_names import check_built_names
from register.checks.clashes import check_clashes_settled
from register.checks.clock import (
    check_clock_forward,
    check_not_future,
    check_typed_after,
)
from register.checks.counters import (
    check_counters_known,
    check_entries_count,
    check_limits_count,
)
from register.checks.curing import check_done_while_curing, check_flown_while_curing
from register.checks.damage import check_marks_placed, check_sizes_belong
from register.checks.doubles import (
    check_flights_once,
    check_packs_apart,
)
from register.checks.duties import (
    check_gap_ended,
    check_happenings_answered,
    check_season_begun,
)
from register.checks.fault_words import check_fault_words_known, check_systems_known
from register.checks.flown import (
    check_in_service,
    check_parts_serviceable,
    check_positions_filled,
    check_register_begun,
)
from register.checks.following import check_follow_ons
from register.checks.jobs import check_jobs_begin, check_work_followed
from register.checks.joints import (
    check_joints_hold,
    check_joints_known,
    check_shelf_read,
)
from register.checks.known import (
    check_aircraft_known,
    check_kits_known,
    check_part_kinds_known,
    check_parts_known,
    check_positions_known,
    check_programmes_known,
    check_snags_known,
    check_tasks_known,
)
from register.checks.likely import (
    check_counts_likely,
    check_minutes_likely,
    check_readings_inside,
)
from register.checks.linkages import check_linkages, check_throw_sheets
from register.checks.money import check_money_placed
from register.checks.notices import (
    check_answers_asked,
    check_notices_ask,
    check_notices_once,
)
from register.checks.overruns import (
    check_limits_kept,
)
from register.checks.references import check_reference_ids
from register.checks.rings import check_doubles_left
from register.checks.sequence import (
    check_moves_ordered,
    check_packs_named,
)
from register.checks.stand_ins import check_usage_told_once
from register.checks.survey import Survey
from register.checks.twice import check_fixes_follow, check_layups_alternate
from register.checks.weighed import check_weighings
from register.checks.whereabouts import (
    check_files_at_home,
)
from register.ledger.ledger import Ledger
from register.trouble import Problem

Check = Callable[[Survey], Iterator[Problem]]

CHECKS: tuple[Check, ...] = (
    check_aircraft_known,
    check_reference_ids,
    check_sections_read,
    check_entries_say_something,
    check_built_names,
    check_disturbed_known,
    check_linkages,
    check_throw_sheets,
    check_shelf_read,
    check_clashes_settled,
    check_parts_known,
    check_snags_known,
    check_tasks_known,
    check_positions_known,
    check_marks_placed,
    check_sizes_belong,
    check_fault_words_known,
    check_systems_known,
    check_programmes_known,
    check_kits_known,
    check_joints_known,
    check_joints_hold,
    check_part_kinds_known,
    check_counters_known,
    check_limits_count,
    check_entries_count,
    check_positions_filled,
    check_register_begun,
    check_in_service,
    check_parts_serviceable,
    check_flown_while_curing,
    check_done_while_curing,
    check_weighings,
    check_season_begun,
    check_gap_ended,
    check_happenings_answered,
    check_limits_kept,
    check_moves_ordered,
    check_packs_named,
    check_flights_once,
    check_doubles_left,
    check_packs_apart,
    check_usage_told_once,
    check_not_future,
    check_layups_alternate,
    check_fixes_follow,
    check_typed_after,
    check_clock_forward,
    check_files_at_home,
    check_readings_inside,
    check_minutes_likely,
    check_counts_likely,
    check_notices_ask,
    check_notices_once,
    check_answers_asked,
    check_jobs_begin,
    check_work_followed,
    check_money_placed,
)


def check_ledger(
    ledger: Ledger, today: date, sources: Mapping[str, bytes] | None = None
) -> tuple[Problem, ...]:
    """Everything odd about a ledger, ordered by place. Never raises, whatever the records."""
    survey = Survey(ledger, today, sources)
    every = (problem for check in CHECKS for problem in check(survey))
    found = check_follow_ons(ledger, every)
    return tuple(sorted(dict.fromkeys(found), key=lambda problem: problem.order))
