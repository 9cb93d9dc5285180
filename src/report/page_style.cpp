// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_style.hpp"

namespace evenwall::internal::report {

const char* const kPageStyle = R"(
:root{color-scheme:light dark;--paper:#fdfcf9;--ink:#1d1c1a;--faint:#68645c;--line:#d9d5cb;--panel:#f2efe7;
 --first:#0072b2;--second:#d55e00;--third:#007a59}
@media (prefers-color-scheme:dark){:root{--paper:#16181b;--ink:#ebe8e1;--faint:#a8a399;--line:#3b3e43;--panel:#212428;
 --first:#56b4e9;--second:#e69f00;--third:#2fc79a}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 "DejaVu Sans",Verdana,sans-serif}
main{max-width:64rem;margin:0 auto;padding:1.5rem 1.25rem 3rem}
h1{font-size:1.55rem;line-height:1.3;margin:.2rem 0 .8rem;font-weight:600;overflow-wrap:anywhere}
h2{font-size:1.05rem;margin:2rem 0 .6rem;padding-top:.5rem;border-top:2px solid var(--ink)}
h3{font-size:.95rem;margin:1rem 0 .3rem}
p{margin:.4rem 0;overflow-wrap:anywhere}
.facts,.note,figcaption span{color:var(--faint);font-size:.85rem}
.answer{display:grid;grid-template-columns:1fr 15rem;gap:1.5rem;background:var(--panel);padding:1.1rem 1.3rem;border-left:6px solid var(--third)}
.answer.alone{grid-template-columns:1fr}
.scope,.verified{font-weight:600}
.pair{display:grid;grid-template-columns:1fr 1fr;gap:0 2rem}
table{border-collapse:collapse;width:100%;font-size:.88rem;margin:.5rem 0}
caption{text-align:left;color:var(--faint);padding-bottom:.2rem}
th,td{padding:.28rem .5rem;border-bottom:1px solid var(--line);text-align:right;font-variant-numeric:tabular-nums;vertical-align:top}
th[scope=row],th:first-child,.words{text-align:left;overflow-wrap:anywhere}
thead th{color:var(--faint);font-weight:400;vertical-align:bottom}
tbody th{font-weight:400}
ul{margin:.4rem 0;padding-left:1.2rem}
li{margin:.3rem 0;overflow-wrap:anywhere}
code{font:inherit;font-weight:600}
.charts{display:grid;grid-template-columns:1fr 1fr;gap:1.4rem 2rem;align-items:start}
.tall{grid-template-rows:auto 1fr}
.tall figure:first-child{grid-row:span 2}
#cartridges td:not(.words),#cartridges tbody th,#groups td{white-space:nowrap}
figure{margin:0;break-inside:avoid;min-width:0}
figcaption b{display:block;font-size:.95rem}
figcaption span{display:block;line-height:1.35}
svg{display:block;width:100%;height:auto;color:var(--ink)}
svg text{font-family:"DejaVu Sans",Verdana,sans-serif}
.front{fill:none;stroke:var(--ink);stroke-width:1.4;max-width:15rem}
.front text{fill:var(--ink);stroke:none;font-size:12px}
.front .end{text-anchor:end}
.front .was{stroke:var(--faint);stroke-dasharray:3 3}
.front .becomes{stroke:var(--first);stroke-width:2}
.front .arrow{stroke:var(--first);stroke-width:2.2}
.front .shim{fill:var(--second);stroke:none}
.front .shell{stroke-width:3}
.front .groove{stroke:var(--faint)}
@media (max-width:42rem){
 main{padding:1rem .9rem 2rem}
 h1{font-size:1.25rem}
 .answer,.pair,.charts{grid-template-columns:minmax(0,1fr)}
 .wide thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
 .wide tr,.wide td,.wide tbody th{display:block;border:0;text-align:left}
 .wide tr{border-bottom:1px solid var(--line);padding:.4rem 0}
 .wide tbody th{font-weight:600;padding:.1rem 0}
 .wide td{display:flex;justify-content:space-between;gap:1rem;padding:.08rem 0}
 .wide td::before{content:attr(data-label);color:var(--faint)}
 .wide td.words:empty{display:none}
 .tall{grid-template-rows:none}
 .tall figure:first-child{grid-row:auto}
 #cartridges td:not(.words),#cartridges tbody th,#groups td{white-space:normal}
}
@media print{
 :root{color-scheme:light;--paper:#fff;--ink:#000;--faint:#555;--line:#ccc;--panel:#f4f2ec;--first:#0072b2;--second:#d55e00;--third:#007a59}
 @page{size:A4;margin:9mm 11mm}
 body{font-size:7.8pt;line-height:1.25;print-color-adjust:exact}
 main{max-width:none;padding:0}
 h1{font-size:12.5pt;margin:.1rem 0 .3rem}
 h2{font-size:9.5pt;margin:.4rem 0 .15rem;padding-top:.1rem;border-top-width:1px;break-after:avoid}
 h3{font-size:8.5pt;margin:.3rem 0 .1rem}
 p,li,ul{margin:.12rem 0}
 .facts,.note,figcaption span{font-size:7.2pt}
 .answer{padding:.35rem .8rem;grid-template-columns:1fr 9rem}
 .answer.alone{grid-template-columns:1fr}
 table{font-size:7.6pt;margin:.15rem 0}
 th,td{padding:.08rem .35rem}
 tr{break-inside:avoid}
 .charts{gap:.2rem 1.2rem}
 .charts svg{width:86%}
 .charts:has(figure:nth-child(7)){grid-template-columns:1fr 1fr 1fr;gap:.3rem .8rem}
 .ending{columns:2;column-gap:1.4rem}
 .ending section,.ending table{break-inside:avoid}
 #cartridges,#what-to-do~#charts{break-before:page}
 figcaption b{font-size:8.2pt}
 figcaption span{line-height:1.2}
}
)";

}  // namespace evenwall::internal::report
