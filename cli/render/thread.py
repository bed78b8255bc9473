"""The screen of one thread looked up."""

from __future__ import annotations

from collections.abc import Iterator

from cli.render.fastener_shapes import thread_shape
from cli.render.fasteners import tell_source
from cli.render.screen import Column, Screen, Span, Words
from cli.render.torques import add_torque, number
from cli.session import Session
from register.records.values import format_amount
from register.views.fasteners import USED, ThreadView


def render_thread(session: Session, view: ThreadView) -> None:
    """Sizes with their sources, then torque with all it rests on."""
    thread = view.wish.thread
    screen = Screen()
    what = {"metric": "metric", "inch": "inch", "tapping": "self-tapping"}[thread.system]
    series = ""
    if thread.system != "tapping":
        series = ", coarse pitch" if thread.is_coarse else ", fine pitch"
        if thread.name == "#0-80":
            series = ""
    screen.title(f"Thread {thread.name}", what + series)
    screen.gap()
    columns = (Column("what"), Column("size"), Column("source", flexible=True))
    screen.table(columns, _rows(view), heads=False)
    screen.gap()
    add_torque(screen, None, view.torque, _more(view))
    if view.wish.material is None and view.wish.torque is None and thread_can(view):
        words = "for a torque: --head cap --material steel-12.9 --into steel --friction zinc"
        screen.line(Span(words, "faint"), 4)
    session.show(screen, thread_shape(view))


def _rows(view: ThreadView) -> list[tuple[Words, ...]]:
    thread, shape = view.wish.thread, view.geometry
    rows: list[tuple[Words, ...]] = [("diameter", f"{number(float(thread.diameter), 4)} mm", "")]
    if thread.pitch is not None:
        each = f" ({thread.tpi} per inch)" if thread.tpi else ""
        rows.append(("pitch", f"{number(float(thread.pitch), 4)} mm{each}", ""))
    for head, tool, figure in view.keys:
        source = tell_source(figure.source, figure.status)
        rows.append((f"{head.replace('-', ' ')}", f"{tool} {figure.text}", source))
    if not view.keys:
        rows.append(("key", "not in the tables", ""))
    for what, figure in view.nut:
        rows.append((what, figure.text, tell_source(figure.source, figure.status)))
    for fit, figure in view.holes.clearance.items():
        rows.append((f"clearance, {fit}", figure.text, figure.source))
    if not view.holes.clearance:
        rows.append(("clearance", "not in the tables", ""))
    tapping = view.holes.tapping
    rows.append(
        ("tapping drill", tapping.text, tapping.source)
        if tapping is not None
        else ("tapping drill", "not in the tables", "")
    )
    if shape is not None:
        for what, value in (
            ("pitch diameter", shape.pitch_diameter),
            ("core", shape.core_diameter),
            ("bore of the nut", shape.bore_diameter),
        ):
            rows.append((what, f"{number(value, 3 + 1)} mm", shape.source))
        rows.append(("stress area", f"{number(shape.stress_area, 2)} mm²", shape.area_source))
    return rows


def _more(view: ThreadView) -> Iterator[str]:
    """What else is known of its torque: printed ranges, the full equation, a wrench's setting."""
    wish = view.wish
    if view.published is not None:
        yield f"published {view.published.text}: {view.published.source}"
    if wish.mu is not None and view.by_friction is not None and view.limit is not None:
        yield (
            f"full equation {number(view.by_friction)} N·m at a friction of "
            f"{format_amount(wish.mu)} in thread and under the head, stretch and twist together "
            f"reaching {USED:.0%} of {view.limit.mpa:g} MPa ({view.limit.source}), medium hole; "
            "form of VDI 2230"
        )
    elif wish.mu is not None:
        yield (
            "full equation not computed: it needs --head cap, a metric size in the tables "
            "and --material"
        )
    if view.setting is not None and wish.lever is not None and wish.extension is not None:
        yield (
            f"wrench setting {number(view.setting)} N·m with a lever of "
            f"{format_amount(wish.lever)} mm and {format_amount(wish.extension)} mm of extension "
            "in line (US Army TM 9-254)"
        )
    elif wish.lever is not None:
        yield "wrench setting not computed: give  --torque 2.5"


def thread_can(view: ThreadView) -> bool:
    """Whether a torque of this thread could be computed with more said."""
    return view.wish.thread.system == "metric" and view.wish.head not in ("set", "self-tapping")
