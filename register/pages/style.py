"""The look of a self-contained page: a telephone, a wide screen, light, dark, and A4 paper.

No font, no script, nothing fetched. Colour only helps: words and frames carry every state.
Tables become one card for each row where the screen is narrow, so nothing scrolls sideways.
"""

from __future__ import annotations

#: Nothing may run or be fetched, whatever got into a page.
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'"
)

_LIGHT = (
    "--bg:#fff;--ink:#14181c;--soft:#4a535c;--line:#c9d1d8;--card:#f3f5f7;--stop:#a50f1b;"
    "--attend:#7a4a00;--link:#0b4f8a;--body:#dfe6ec;--edge:#3d4852"
)
_DARK = (
    "--bg:#12161a;--ink:#eef2f5;--soft:#b4bec8;--line:#3b454f;--card:#1b2127;--stop:#ff9a92;"
    "--attend:#ffc46b;--link:#8cc4ff;--body:#2b343d;--edge:#aab6c2"
)

STYLE = f"""
:root{{color-scheme:light dark;{_LIGHT}}}
@media (prefers-color-scheme:dark){{:root{{{_DARK}}}}}
*{{box-sizing:border-box}}
html{{-webkit-text-size-adjust:100%;scroll-padding-top:8px}}
body{{margin:0 auto;padding:20px 24px 40px;max-width:960px;background:var(--bg);color:var(--ink);\
font:15px/1.45 system-ui,-apple-system,"Segoe UI","DejaVu Sans",Arial,sans-serif;\
overflow-wrap:break-word}}
.d{{white-space:nowrap}}.no{{display:inline-block;min-width:1.9em;color:var(--soft);\
font-variant-numeric:tabular-nums}}
h1{{font-size:26px;line-height:1.2;margin:0}}
h2{{font-size:19px;line-height:1.25;margin:34px 0 2px;padding-top:8px;\
border-top:2px solid var(--ink);break-after:avoid}}
h3{{font-size:15px;margin:18px 0 4px;break-after:avoid}}
p{{margin:5px 0}}ul{{margin:4px 0 8px;padding-left:20px}}li{{margin:2px 0}}
a{{color:var(--link)}}
.under,.fine{{color:var(--soft)}}.fine{{font-size:13px}}
.answer{{font-weight:600;margin:0 0 8px;break-after:avoid}}
.stop,.attend{{border-left:5px solid var(--stop);padding:2px 0 2px 10px}}
.attend{{border-color:var(--attend)}}
dl{{margin:8px 0;display:grid;grid-template-columns:minmax(110px,max-content) minmax(0,1fr);\
gap:3px 16px}}
dt{{color:var(--soft)}}dd{{margin:0}}
.key{{background:var(--card);border:1px solid var(--line);border-radius:6px;padding:10px 14px;\
margin:14px 0}}.key dd{{font-weight:600}}
.who{{display:grid;grid-template-columns:repeat(3,1fr);gap:14px;margin:14px 0}}
.who h3{{margin:0 0 4px}}.who ul{{list-style:none;padding:0;margin:0}}
.who li{{margin:0}}.who a{{display:flex;padding:4px 0}}.who .no{{flex:none}}
table{{border-collapse:collapse;width:100%;margin:6px 0 10px;font-size:14px}}
th{{text-align:left;font-weight:600;color:var(--soft);font-size:12.5px;vertical-align:bottom}}
th,td{{padding:4px 12px 4px 0;border-bottom:1px solid var(--line)}}td{{vertical-align:top}}
td:first-child{{min-width:6em}}
.r{{text-align:right;font-variant-numeric:tabular-nums}}td.r{{white-space:nowrap}}
tr.stop,tr.attend{{border:0}}tr.stop td:first-child,tr.attend td:first-child{{\
box-shadow:inset 5px 0 0 var(--stop);padding-left:10px;font-weight:700}}
tr.attend td:first-child{{box-shadow:inset 5px 0 0 var(--attend)}}
tr{{break-inside:avoid}}thead{{display:table-header-group}}
.boxes{{list-style:none;padding:0;margin:0}}
.boxes li{{display:grid;grid-template-columns:26px minmax(0,1fr);padding:5px 0;\
border-bottom:1px solid var(--line);break-inside:avoid}}
.b{{width:16px;height:16px;border:1.6px solid var(--ink);border-radius:2px;margin-top:3px}}
.boxes small{{display:block;color:var(--soft);font-size:13px}}
.sign{{display:flex;gap:18px;margin-top:18px}}.sign span{{flex:1;\
border-bottom:1px solid var(--ink);min-height:34px;color:var(--soft);font-size:13px}}
footer{{margin-top:30px;border-top:2px solid var(--ink);padding-top:8px;color:var(--soft);\
font-size:13px}}
figure{{margin:8px 0;max-width:480px}}figure svg{{display:block;width:100%;height:auto}}
.photos{{display:grid;grid-template-columns:repeat(auto-fill,minmax(220px,1fr));gap:12px}}
.photos figure{{margin:0}}img{{display:block;width:100%;height:auto}}
figcaption{{font-size:13px;color:var(--soft);margin-top:3px}}
svg text{{fill:var(--ink);font-size:13px}}
svg .f{{fill:var(--soft);font-size:12px}}
svg .b{{fill:var(--body);stroke:var(--edge);stroke-width:1.1;stroke-linejoin:round}}
svg .o{{fill:none;stroke:var(--edge);stroke-width:.7;stroke-dasharray:3 2.4}}
svg .c{{fill:none;stroke:var(--edge);stroke-width:.6;stroke-dasharray:9 3 2 3}}
svg .l{{stroke:var(--ink);stroke-width:1}}
svg .p{{fill:var(--stop);stroke:var(--bg);stroke-width:.6}}
svg .r{{fill:none;stroke:var(--stop);stroke-width:1.2;stroke-dasharray:2.2 1.8}}
svg .s{{fill:var(--stop);fill-opacity:.18;stroke:var(--stop);stroke-width:.9}}
svg .n{{fill:var(--bg);stroke:var(--ink);stroke-width:1.5}}
svg .g{{fill:var(--stop);stroke:var(--stop);stroke-width:1.5}}
svg .k,svg .kg{{font-size:12px;font-weight:700;text-anchor:middle}}svg .kg{{fill:var(--bg)}}
@media (max-width:700px){{
body{{padding:14px 14px 40px;font-size:16px}}h1{{font-size:23px}}h2{{font-size:19px}}
.who{{grid-template-columns:1fr}}.who a{{padding:9px 0;border-bottom:1px solid var(--line)}}
dl{{grid-template-columns:minmax(0,1fr);gap:0}}dt{{font-size:13px;margin-top:6px}}
table,tbody,tr,td{{display:block;width:auto}}thead{{position:absolute;left:-9999px}}
tr{{border:1px solid var(--line);border-radius:6px;padding:6px 10px;margin:8px 0}}
td,td.r{{border:0;padding:1px 0;text-align:left;white-space:normal}}
td:first-child{{font-weight:600;min-width:0}}
td[data-h]:not(:first-child)::before{{content:attr(data-h) ": ";color:var(--soft);font-size:13px}}
td.none{{display:none}}
tr.stop,tr.attend{{border:1px solid var(--line);border-left:5px solid var(--stop)}}
tr.attend{{border-left-color:var(--attend)}}
tr.stop td:first-child,tr.attend td:first-child{{box-shadow:none;padding-left:0}}
.b{{width:22px;height:22px}}.boxes li{{grid-template-columns:34px minmax(0,1fr);padding:8px 0}}
.sign{{display:block}}.sign span{{display:block}}
}}
@page{{size:A4 portrait;margin:13mm 13mm 14mm}}
@media print{{
:root{{color-scheme:light;{_LIGHT};--ink:#000;--soft:#333}}
body{{padding:0;max-width:none;font-size:9.8pt;line-height:1.32}}
h1{{font-size:19pt}}h2{{font-size:13pt;margin:12pt 0 1pt;padding-top:3pt}}h3{{font-size:10pt;\
margin:7pt 0 2pt}}p{{margin:2pt 0}}ul{{margin:2pt 0 4pt}}li{{margin:0}}dl{{margin:4pt 0;\
gap:1pt 12pt}}.key{{margin:6pt 0;padding:4pt 8pt}}.who{{margin:6pt 0;gap:8pt;font-size:8.8pt}}
.answer,figure{{break-after:avoid}}
tr.stop td:first-child,tr.attend td:first-child{{box-shadow:none;padding-left:6px;\
border-left:5px solid var(--stop)}}tr.attend td:first-child{{border-left-color:var(--attend)}}
table{{font-size:9pt}}th{{font-size:8pt}}th,td{{padding:2pt 7pt 2pt 0}}
.fine,footer,.boxes small,.sign span{{font-size:8.5pt}}a{{color:inherit;text-decoration:none}}
.key{{background:none}}.who a{{padding:0}}.back{{display:none}}
.first{{columns:2;column-gap:9mm;font-size:8.6pt;line-height:1.26}}.first h2{{font-size:11pt;\
margin-top:6pt}}.first dl{{grid-template-columns:1fr;gap:0}}.first ul{{padding-left:11pt}}
.page{{break-before:page}}
figure{{max-width:88mm;break-inside:avoid}}.b{{width:11pt;height:11pt}}.boxes li{{padding:2pt 0}}
}}
"""
