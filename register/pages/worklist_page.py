"""A worklist as a page to print: A4, boxes to tick; on a telephone one column.

Self-contained HTML: no script, no font, nothing fetched. Black on white in print; words and
shapes carry every state.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from register.pages.markup import clean_markup
from register.views.worklist import StepLine, WorklistView
from register.views.worklist_words import (
    ACTIONS,
    assumption_words,
    bring_words,
    by_evening,
    cautions,
    count_words,
    date_words,
    fly_head,
    fly_words,
    knot_mend,
    knot_words,
    labour_words,
    left_out_words,
    minutes_words,
    source_words,
    start_words,
    state_words,
    step_details,
    trap_words,
    unplaced_words,
)

#: States set in a frame: they ground, or nobody has rated them.
_STOPS = ("overdue", "grounding", "not-yet-rated")

_DAY = re.compile(r"(?:[A-Z][a-z]{2} )?\d{4}-\d{2}-\d{2}(?: \d{2}:\d{2})?(?![\w-])")

_STYLE = """
*{box-sizing:border-box}
body{margin:0 auto;padding:14px;max-width:820px;background:#fff;color:#14181c;\
font:15px/1.35 system-ui,-apple-system,"Segoe UI","DejaVu Sans",Arial,sans-serif}
h1{font-size:20px;margin:0 0 2px}h2{font-size:15px;margin:14px 0 4px;padding:3px 0;\
border-bottom:2px solid #14181c;break-after:avoid}
p{margin:2px 0}.f{color:#4a535c;font-size:13px}
.h{border-collapse:collapse;margin:8px 0;width:100%}.h th{text-align:left;font-weight:400;\
padding:2px 10px 2px 0;white-space:nowrap;vertical-align:top;color:#4a535c}\
.h td{padding:2px 0;vertical-align:top}
.w{border:2px solid #b3121d;padding:6px 8px;margin:8px 0;overflow-wrap:anywhere}
ol{list-style:none;margin:0;padding:0}
.s{display:grid;grid-template-columns:22px 26px 46px 38px 56px 1fr;column-gap:6px;\
padding:5px 0;border-bottom:1px solid #c6ced5;break-inside:avoid;align-items:baseline}
.b{width:16px;height:16px;border:1.6px solid #14181c;border-radius:2px;display:inline-block;\
align-self:start;margin-top:2px}
.n,.m{text-align:right;font-variant-numeric:tabular-nums;color:#4a535c}\
.t{font-variant-numeric:tabular-nums;color:#4a535c}
.a{font-weight:700}.d{color:#4a535c;font-size:13px}.k{color:#4a535c;font-style:italic}
.y{padding:3px 0 0 24px;text-indent:-24px}.y .b{text-indent:0;vertical-align:-3px;margin:0 4px 0 0}
.i .x{margin-left:12px}
.g{border:1.5px solid #14181c;padding:0 4px;font-weight:700;color:#14181c;white-space:nowrap}
.q{font-weight:700;color:#14181c}
.trap{border-left:4px solid #b36b00;padding-left:6px;margin-top:2px;font-size:13px}
.l{columns:2;column-gap:24px}.l li{break-inside:avoid;padding:2px 0 2px 24px;position:relative}
.l .b{position:absolute;left:0;top:2px}
.l.u li{padding-left:0}.o{white-space:nowrap}
code{font:13px ui-monospace,"DejaVu Sans Mono",monospace;overflow-wrap:anywhere}
.c{border-top:2px solid #14181c;margin-top:14px;padding-top:6px;font-size:13px}
.sig{margin-top:14px;display:flex;gap:18px;font-size:13px}.sig span{flex:1;\
border-bottom:1px solid #14181c;padding-bottom:2px;min-height:26px}
@media (max-width:560px){body{padding:10px;font-size:16px}h1{font-size:19px}
.h th{display:block;padding-bottom:0}.h td{display:block;padding:0 0 6px}.h tr{display:block}
.s{grid-template-columns:30px auto auto auto 1fr}.b{width:22px;height:22px}
.x{grid-column:2/-1}.n{text-align:left}.m::after{content:" min"}.l{columns:1}
.d,.f,.c,.trap{font-size:14px}.y{padding-left:30px;text-indent:-30px;font-size:15px}
.l li{padding:4px 0 4px 32px}.l.u li{padding:4px 0}\
.sig{display:block}.sig span{display:block}.i .x{margin-left:0}}
@page{size:A4 portrait;margin:10mm 12mm}
@media print{body{padding:0;max-width:none;font-size:11.2px;line-height:1.3}h1{font-size:15px}\
h2{font-size:11.5px;margin:6px 0 1px;padding:1px 0;border-bottom-width:1.5px}\
.f,.d,.trap,.c,.sig,code{font-size:10.2px}.h{margin:3px 0}.h th,.h td{\
padding-top:0;padding-bottom:0}\
.s{grid-template-columns:16px 18px 34px 30px 42px 1fr;padding:2px 0;border-bottom-width:.6px}\
.b{width:11px;height:11px;border-width:1.2px;margin-top:1px}\
.x>.d{display:inline}.x>.d:not(.y)::before{content:"\\2003"}\
.y{text-indent:0;padding:0 0 0 10px;white-space:nowrap}.y .b{vertical-align:-1px;margin:0 2px 0 0}\
.d,.f,.n,.m,.t,.k,.h th{color:#222}.l li{padding:1px 0 1px 18px}.l.u li{padding:1px 0}\
.l.u code{font-size:9px}.trap{border-left-color:#000}\
.w{border-color:#000;margin:3px 0;padding:2px 6px}.c{margin-top:6px;padding-top:2px}p{margin:1px 0}\
.sig{margin-top:4px}.sig span{min-height:20px}}
"""


def draw_worklist(view: WorklistView, short: Mapping[str, str]) -> str:
    """The page of a worklist. `short` are ids of records as they are typed."""
    parts = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        f"<title>{clean_markup(f'Worklist of {view.aircraft}')}</title>",
        f"<style>{_STYLE}</style></head><body>",
        *_head(view),
        *_wrong(view),
        *_steps(view, short),
        *_bring(view),
        *_unplaced(view, short),
        *_foot(view),
        "</body></html>",
    ]
    return "\n".join(parts) + "\n"


def _told(words: str) -> str:
    """Words cleaned; a day and its time stay on one line."""
    return _DAY.sub(lambda found: f'<span class="o">{found[0]}</span>', clean_markup(words))


def _p(words: str, style: str = "") -> str:
    kind = f' class="{style}"' if style else ""
    return f"<p{kind}>{_told(words)}</p>"


def _head(view: WorklistView) -> Iterable[str]:
    yield f"<h1>{clean_markup(f'Worklist of {view.aircraft}: {view.title}')}</h1>"
    stage = "" if view.stage == "in-service" else f"; stage: {view.stage.replace('-', ' ')}"
    yield _p(f"as recorded on {date_words(view.on)}{stage}", "f")
    if not view.complete:
        yield _p("INCOMPLETE: a file could not be read (tailsheaf check)", "w")
    yield '<table class="h">'
    yield _pair(f"by {date_words(view.asked.until)}", count_words(view))
    for head, (word, rest) in (
        ("latest evening to begin", start_words(view)),
        (fly_head(view), fly_words(view)),
    ):
        yield _pair(head, word, rest)
    if view.steps:
        yield _pair("labour", labour_words(view))
    for cure, until in view.curing:
        yield _pair("curing already", f"{cure.what}, until {until}")
    yield "</table>"


def _pair(head: str, word: str, rest: str = "") -> str:
    told = f"<b>{_told(word)}</b> {_told(rest)}" if rest else _told(word)
    return f"<tr><th>{_told(head)}</th><td>{told}</td></tr>"


def _wrong(view: WorklistView) -> Iterable[str]:
    told = {problem.place for problem in view.problems}
    for problem in view.problems:
        where = f"{problem.place.file}:{problem.place.line}"
        yield _p(f"WRONG {where}: {problem.says}. Mend: {problem.mend}", "w")
    for knot in view.graph.knots:
        if any(place in told for _, place in knot.ends):
            yield _p(f"This list is made without: {knot.left_out}", "w")
        else:
            yield _p(f"CANNOT BE DONE: {knot_words(knot)}. Mend: {knot_mend(knot)}", "w")


def _steps(view: WorklistView, short: Mapping[str, str]) -> Iterable[str]:
    for day, steps in by_evening(view.steps, view):
        yield f"<h2>{clean_markup(date_words(day))}</h2><ol>"
        for step in steps:
            yield _step(step, view, short)
        yield "</ol>"
    if not view.steps:
        yield _p("nothing is recorded that is to be done by then")


def _step(step: StepLine, view: WorklistView, short: Mapping[str, str]) -> str:
    inner = " i" if step.line is not None and view.graph.ways[step.line.work.key].off else ""
    title = clean_markup(step.title)
    title = f"<b>{title}</b>" if step.node.action != "do" else title
    words = "".join(_details(step, view, short))
    traps = "".join(
        f'<div class="trap"><b>TRAP</b> {clean_markup(trap)}</div>' for trap in trap_words(step)
    )
    action = ACTIONS[step.node.action]
    return (
        f'<li class="s{inner}"><span class="b"></span><span class="n">{step.number}</span>'
        f'<span class="t">{step.slot.begins:%H:%M}</span>'
        f'<span class="m">{minutes_words(step)}</span><span class="a">{action}</span>'
        f'<div class="x">{title}{words}{traps}</div></li>'
    )


def _details(step: StepLine, view: WorklistView, short: Mapping[str, str]) -> Iterable[str]:
    line = step.line
    id_ = short.get(line.id, line.id) if line is not None else ""
    told = source_words(line, id_) if line is not None else ""
    found: list[str] = []
    ticks: list[str] = []
    for detail in step_details(step, view, id_):
        words = _told(detail)
        if line is not None and detail == told:
            state = clean_markup(state_words(line))
            style = "g" if line.state in _STOPS else "q"
            words = words.replace(f": {state}", f': <span class="{style}">{state}</span>', 1)
        if detail.startswith("check: "):
            ticks.append(words.removeprefix("check: "))
        else:
            found.append(words)
    if found:
        yield f'<div class="d">{" · ".join(found)}</div>'
    for words in ticks:
        yield f'<div class="d y"><span class="b"></span> {words}</div>'


def _bring(view: WorklistView) -> Iterable[str]:
    listed = bring_words(view)
    if not listed:
        return
    yield '<h2>Bring</h2><ol class="l">'
    for kind, words in listed:
        told = f'<span class="k">{kind}</span> {clean_markup(words)}'
        yield f'<li><span class="b"></span>{told}</li>'
    yield "</ol>"


def _unplaced(view: WorklistView, short: Mapping[str, str]) -> Iterable[str]:
    groups = unplaced_words(view, short)
    if groups:
        yield "<h2>Place not stated: nothing is opened for these</h2>"
    for mend, items in groups:
        yield f'<p><code>{clean_markup(mend)}</code></p><ol class="l u">'
        for key, text in items:
            yield f"<li><code>{clean_markup(key)}</code> {clean_markup(text)}</li>"
        yield "</ol>"


def _foot(view: WorklistView) -> Iterable[str]:
    yield '<div class="c">'
    yield from (_p(f"reckoned with: {word}") for word in assumption_words(view) if view.steps)
    yield from (_p(word) for word in left_out_words(view))
    yield from (f"<p><b>{clean_markup(word)}</b></p>" for word in cautions(view)[:1])
    yield from (_p(word) for word in cautions(view)[1:])
    yield "</div>"
    yield '<div class="sig"><span>begun</span><span>ended</span><span>by</span></div>'
