"""What does the report look like: light and dark, narrow and wide, on screen and on paper?"""

from __future__ import annotations

CSS = """
:root{color-scheme:light dark;--ink:#20242a;--quiet:#59636d;--line:#d4d9de;--ground:#f4f3f0;--card:#ffffff;
--mark:#00695c;--warn:#8f3206;--warnground:#fdf1e4}
@media (prefers-color-scheme:dark){:root{--ink:#e8e9ea;--quiet:#aab2ba;--line:#3c444c;--ground:#16191c;
--card:#20252a;--mark:#5cc8b8;--warn:#f5b27a;--warnground:#33261a}}
*{box-sizing:border-box}
[hidden]{display:none!important}
html{-webkit-text-size-adjust:100%}
body{margin:0;background:var(--ground);color:var(--ink);font:1rem/1.5 system-ui,"Segoe UI","DejaVu Sans",sans-serif}
main,header,footer{max-width:84rem;margin:0 auto;padding:0 1rem}
header{padding-top:1.5rem}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .3rem;overflow-wrap:anywhere}
h2{font-size:1.3rem;margin:2.2rem 0 .7rem;overflow-wrap:anywhere;
border-bottom:2px solid var(--line);padding-bottom:.2rem}
h3{font-size:1.05rem;margin:1.3rem 0 .5rem;overflow-wrap:anywhere}
p{margin:.4rem 0}
.quiet{color:var(--quiet)}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:.3rem 1rem;padding:0;margin:.8rem 0}
a{color:var(--mark)}
.ports{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,26rem),1fr));gap:1rem;margin-top:1rem}
.answers{background:var(--card);border:1px solid var(--line);border-radius:8px;padding:.2rem 1rem 1rem}
.answers h2{margin-top:.9rem}
.answers dt{font-weight:600;color:var(--quiet);margin-top:.8rem}
.answers dd{margin:0}
.glance{background:var(--card);border:1px solid var(--line);border-radius:8px;padding:.1rem 1rem .8rem}
.glance h2{margin:.6rem 0 .4rem}
.glance svg{display:block;width:100%;height:auto;background:#ffffff;border-radius:6px;
max-height:max(14rem,min(25rem,100vh - 28rem))}
.glance dl{display:grid;grid-template-columns:minmax(7rem,auto) minmax(0,1fr);gap:.25rem .9rem;margin:.7rem 0 0}
.glance dt{color:var(--quiet)}
.glance dd{margin:0;font-weight:650;overflow-wrap:anywhere}
.figure{font-size:1.15rem;font-weight:650;overflow-wrap:anywhere}
figure{margin:1rem 0;background:#ffffff;color:#20242a;border:1px solid var(--line);border-radius:8px;overflow:hidden}
figcaption{padding:.5rem .8rem 0;font-weight:600;overflow-wrap:anywhere}
figcaption span{font-weight:400;color:#59636d}
.draw{overflow-x:auto;padding:.3rem .6rem .6rem}
.draw svg,.draw img{display:block;width:100%;min-width:44rem;height:auto}
.draw svg[data-cursor]{cursor:crosshair;touch-action:pan-x pan-y}
.scroll{overflow-x:auto;margin:1rem 0;border:1px solid var(--line);border-radius:8px;background:var(--card)}
.scroll:focus-visible,.draw:focus-visible{outline:3px solid var(--mark)}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums;font-size:.92rem}
caption{text-align:left;font-weight:600;padding:.5rem .55rem}
th,td{padding:.28rem .55rem;border-top:1px solid var(--line);text-align:left;vertical-align:top}
thead th{font-weight:600;color:var(--quiet);vertical-align:bottom}
tbody th{font-weight:500;min-width:4.5rem;max-width:18rem;overflow-wrap:anywhere}
.number{text-align:right;white-space:nowrap}
thead .number{white-space:normal;min-width:4rem}
td:not(.number){min-width:5rem}
.all-ports table{font-size:.85rem}.all-ports td{min-width:5rem}.all-ports tbody th{white-space:nowrap}
.cautions{background:var(--warnground);border:1px solid var(--warn);border-radius:8px;padding:.2rem 1rem .8rem}
.cautions dt{font-weight:650;color:var(--warn);margin-top:.7rem}
.cautions dd{margin:0}
.cutting-part tbody th,.walls-part tbody th,.walls-part td:not(.number),.reach-part tbody th{min-width:6.5rem;
overflow-wrap:break-word}
.cutting-part .card tbody th{min-width:2.5rem}
.port>nav ul{margin:.2rem 0 .6rem}
h4{font-size:1rem;margin:1.1rem 0 .3rem;overflow-wrap:anywhere}
.strong{font-weight:700}
.card .scroll:first-of-type table{font-size:1.25rem}
.card .scroll:first-of-type th{font-size:.85rem}
.card .scroll:first-of-type tbody th{font-size:1.25rem;font-weight:650}
ul,ol{padding-left:1.4rem}
li{margin:.25rem 0;overflow-wrap:anywhere}
footer{color:var(--quiet);padding-top:1.5rem;padding-bottom:2rem;font-size:.9rem}
.still svg{display:block;width:100%;height:auto}
.view3d canvas{display:none;width:100%;aspect-ratio:3/2;max-height:78vh;touch-action:none;cursor:grab;color:#20242a}
.view3d canvas:active{cursor:grabbing}
.view3d canvas:focus-visible{outline:3px solid #00695c;outline-offset:-3px}
.view3d .bars,.view3d .controls,.view3d .picked,.view3d .keys{display:none}
.view3d .bars{padding:0 .8rem;font-size:.85rem}
.view3d .bars>div{display:grid;grid-template-columns:fit-content(34%) minmax(7rem,17.5rem) minmax(0,1fr);gap:0 .4rem;
line-height:1.25}
.view3d .bars svg{width:100%;height:auto}
.view3d .bars span:last-child{grid-column:1/-1}
.view3d .picked{margin:0;padding:.4rem .8rem;min-height:3.6em;font-weight:600}
.view3d .keys{margin:0;padding:.2rem .8rem .7rem;font-size:.85rem;color:#59636d}
.controls{flex-wrap:wrap;gap:.6rem 1.1rem;padding:.5rem .8rem;border-top:1px solid #d4d9de;align-items:center}
.controls label{display:inline-flex;align-items:center;gap:.4rem;max-width:100%}
.controls .tick{min-height:2.75rem}
.controls input[type=checkbox]{width:1.4rem;height:1.4rem}
.controls select,.controls button{font:inherit;color:inherit;background:#f4f3f0;border:1px solid #8a939b;
border-radius:6px;min-height:2.75rem;min-width:2.75rem;padding:.2rem .6rem;max-width:14rem}
.controls button{cursor:pointer}
.controls select:focus-visible,.controls button:focus-visible,.controls input:focus-visible,
.reading input:focus-visible{outline:3px solid #00695c;outline-offset:2px}
.buttons{display:inline-flex;flex-wrap:wrap;align-items:center;gap:.3rem}
@media screen{.live .still{display:none}.live canvas{display:block}.live .bars,.live .picked,.live .keys{display:block}
.live .controls{display:flex}}
.reading{background:#ffffff;color:#20242a;border:1px solid var(--line);border-radius:8px;padding:.6rem .8rem;
align-self:start;position:sticky;top:.8rem;max-height:calc(100vh - 1.6rem);overflow-y:auto;margin:1rem 0}
.reading p{margin:.25rem 0}
.reading .headline{font-weight:600}
.reading svg{display:block;width:100%;height:auto;max-height:40vh}
.reading .walls{display:flex;justify-content:space-between;gap:1rem;font-size:.8rem;color:#59636d;
overflow-wrap:anywhere}
.reading label{display:block;font-size:.9rem}
.reading input{width:100%;height:2.75rem;margin:0;accent-color:#00695c}
.reading .told{font-size:.92rem;min-height:9.5em;overflow-wrap:anywhere}
.reading .told p:first-child{font-weight:600}
.ring{fill:none;stroke-width:1.6}
.ring.target{fill:#f0a860;stroke:none}.ring.now{fill:#efece6;stroke:#2f4b6e}
.ring.shown{stroke:#a4621d;stroke-width:1.2}.ring.line{stroke:#00796b;stroke-dasharray:3 2}
.ring.cross{stroke:#68717a;stroke-width:.8}
.legend{display:flex;flex-wrap:wrap;gap:.1rem .8rem;font-size:.8rem;color:#59636d}
.key::before{content:"";display:inline-block;width:1.3rem;height:.55rem;margin-right:.3rem;border:2px solid transparent}
.key.now::before{border-color:#2f4b6e}.key.shown::before{border-color:#a4621d}
.key.target::before{background:#f0a860}.key.line::before{border:2px dashed #00796b}
.cursor{stroke:#b00050;stroke-width:1.4}
@media (min-width:66rem){.read-along{display:grid;grid-template-columns:minmax(0,1fr) 18rem;gap:0 1.2rem}}
@media (max-width:65.99rem){.reading{top:auto;bottom:0;max-height:36vh;box-shadow:0 -4px 14px #0004;z-index:2;
display:grid;grid-template-columns:5.5rem minmax(0,1fr);gap:0 .7rem;padding:.3rem .6rem;margin-bottom:0;
border-radius:8px 8px 0 0}
.reading .headline,.reading .walls,.reading .legend{display:none}
.reading svg{grid-row:1/4;max-height:7rem}.reading .told{font-size:.78rem;line-height:1.3;min-height:6em}
.reading label{font-size:.8rem}.reading input{height:2rem}}
@media screen and (min-width:130rem){html{font-size:118.75%}main,header,footer{max-width:118rem}
.pictures{columns:2;column-gap:1rem}.pictures figure{break-inside:avoid;margin:0 0 1rem}}
@media screen and (min-width:200rem){html{font-size:131.25%}main,header,footer{max-width:170rem}}
@media screen and (prefers-color-scheme:dark){figure,.reading,.glance svg{filter:brightness(.9)}}
@media (max-width:40rem){body{font-size:.94rem}.draw svg,.draw img{min-width:36rem}}
@media print{
@page{margin:14mm}
:root{color-scheme:light;--ink:#000;--quiet:#444;--line:#bbb;--ground:#fff;--card:#fff;--mark:#000;--warn:#000;
--warnground:#fff}
body{font-size:10pt}main,header,footer{max-width:none;padding:0}
nav,.reading,.cursor{display:none!important}
figure,.answers dd,.cautions,tr{break-inside:avoid}
.answers dt{break-after:avoid}
h2,h3,h4,caption{break-after:avoid}
.port,.tables-part,.cutting-part,.walls-part{break-before:page}
.card .scroll:first-of-type table{font-size:12pt}.card .scroll:first-of-type tbody th{font-size:12pt}
.draw,.scroll{overflow:visible}.still svg{max-height:98mm}.draw svg,.draw img{min-width:0;max-height:225mm}
.side .draw svg{max-height:98mm}
.behind .draw svg{max-height:86mm}.walls .draw svg{max-height:84mm}
.card{break-inside:avoid}
table{font-size:7.5pt}th,td{padding:1pt 3pt}thead .number{min-width:0}
.ports{display:block}.answers,.glance{margin-bottom:6mm}.glance{break-inside:avoid}.glance svg{max-height:62mm}
}
"""
