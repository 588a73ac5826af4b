"""The page that carries a guide: one file, nothing fetched, fit for the printer, readable without scripts."""

from __future__ import annotations

from collections.abc import Sequence

from .markup import text

__all__ = ["page"]

_STYLE = """
@page { size: A4; margin: 13mm 15mm; }
* { box-sizing: border-box; }
body { font: 11pt/1.45 Georgia, "Times New Roman", "DejaVu Serif", serif; color: #24231f; background: #fff;
  margin: 0 auto; padding: 8mm; max-width: 196mm; }
h1, h2, h3, th, nav, figcaption, .id, text { font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif; }
h1 { font-size: 24pt; line-height: 1.15; margin: 0 0 2mm; overflow-wrap: anywhere; }
h2 { font-size: 15pt; margin: 11mm 0 3mm; padding-bottom: 1mm; border-bottom: 0.5mm solid #6b7f73; break-after: avoid; }
h3 { font-size: 11.5pt; margin: 6mm 0 2mm; break-after: avoid; }
p { margin: 0 0 3mm; }
nav { font-size: 9pt; margin: 4mm 0 0; } nav a { color: #3f5a4c; margin-right: 4mm; white-space: nowrap; }
.lead { font-size: 12.5pt; }
.small, .date { font-size: 9pt; color: #5a584f; }
.box { border: 0.4mm solid #24231f; border-left-width: 2.5mm; padding: 3mm 4mm; margin: 4mm 0; break-inside: avoid; }
.box p:last-child { margin: 0; }
dl.cautions { display: grid; grid-template-columns: 38mm 1fr; gap: 1.6mm 4mm; margin: 0; font-size: 10pt; }
dl.cautions dt { font-weight: bold; } dl.cautions dd { margin: 0; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0 4mm; font-size: 9.5pt; }
th { text-align: left; font-size: 8.5pt; border-bottom: 0.4mm solid #24231f; vertical-align: bottom; }
td { border-bottom: 0.15mm solid #bdb9ad; vertical-align: top; overflow-wrap: anywhere; }
th, td { padding: 1mm 2mm 1mm 0; } td.n { white-space: nowrap; }
.file { display: inline-block; min-width: 50mm; }
p.ahead { break-after: avoid; break-inside: avoid; } table.short { break-inside: avoid; }
li { break-inside: avoid; margin-bottom: 1mm; } p { orphans: 3; widows: 3; }
code { font: 9.5pt "DejaVu Sans Mono", "Liberation Mono", monospace; overflow-wrap: anywhere; }
.n { text-align: right; padding-right: 4mm; font-variant-numeric: tabular-nums; }
thead { display: table-header-group; } tr { break-inside: avoid; } tr:last-child { break-before: avoid; }
figure { margin: 0; break-inside: avoid; }
figcaption { font-size: 8.5pt; color: #45433b; margin-top: 1mm; max-width: 176mm; }
.pictures { display: flex; flex-wrap: wrap; gap: 5mm 6mm; align-items: flex-end; margin: 3mm 0; }
.sheets { display: flex; flex-wrap: wrap; gap: 3mm 4mm; } .sheets figure { max-width: 88mm; }
.pictures figure { width: fit-content; min-width: 40mm; } .pictures figcaption { width: 0; min-width: 100%; }
.aside { float: right; width: 42mm; margin: 0 0 2mm 5mm; }
svg { display: block; max-width: 100%; height: auto; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
svg path, svg rect { vector-effect: non-scaling-stroke; stroke-width: 0.8px; stroke-linejoin: round; }
svg.standing .fine { stroke-width: 0.3px; stroke-opacity: 0.7; }
svg text { text-anchor: middle; fill: #24231f; }
.board { fill: #efe7d6; stroke: #24231f; fill-rule: evenodd; } svg rect.board { fill: #f4efe4; }
.zone { fill: #d8cbb0; stroke: none; } .slits { fill: none; stroke: #24231f; }
.engrave { fill: none; stroke: #a2957a; }
.finish { stroke-width: 0.35; } .score { fill: none; stroke: #55705f; stroke-dasharray: 3 2; }
.sheet { fill: #fbfaf7; stroke: #6b7f73; }
.id { font-weight: bold; paint-order: stroke; stroke: #efe7d6; stroke-width: 1.2px; }
.cheek { fill: #dcc3a4; stroke: #24231f; } .core { fill: #b98c60; stroke: #24231f; }
.card { fill: #fff; stroke: #24231f; } .hidden { fill: none; stroke: #24231f; stroke-dasharray: 3 2; }
svg .hand { fill: none; stroke: #7a2e1d; stroke-width: 2px; } svg .tip { fill: #7a2e1d; stroke: none; }
.standing { width: 100%; max-height: 88mm; margin: 0 auto; }
.steps { display: flex; flex-wrap: wrap; gap: 4mm 6mm; } .step { break-inside: avoid; flex: 1 1 78mm; max-width: 88mm; }
.step.wide { flex-basis: 100%; max-width: none; } .step h3 { margin-top: 0; } .step .standing { max-height: 62mm; }
.moves { display: flex; flex-wrap: wrap; gap: 3mm 5mm; } .moves figure { flex: 1 1 50mm; max-width: 58mm; }
.moves .standing { max-height: 42mm; } .still .standing { max-height: 33mm; }
.swatch { display: inline-block; width: 4.5mm; height: 3mm; border: 0.2mm solid #24231f; vertical-align: -0.3mm;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
svg.paint .bare { fill: none; stroke: #24231f; stroke-width: 0.5px; }
svg.paint .mask { fill: none; stroke: #c2185b; stroke-width: 1.1px; stroke-dasharray: 5 3; }
svg.paint .thin { fill: none; stroke: #24231f; stroke-width: 0.9px; stroke-dasharray: 1 2.5; }
svg.paint .finish { opacity: 0.55; }
.place { fill: #c9d8c4; stroke: #55705f; } ul.checks { list-style: none; padding: 0; margin: 0 0 2mm; }
.part { font: bold 13pt "Helvetica Neue", Arial, "Liberation Sans", sans-serif; margin: 12mm 0 0; break-after: avoid; }
.appendices { font-size: 9.5pt; } .appendices h2 { font-size: 12.5pt; margin-top: 7mm; }
.keep { break-inside: avoid; }
.findings li { margin-bottom: 2mm; } .weight { font-weight: bold; text-transform: capitalize; }
#turn { display: none; margin: 3mm 0; } .turns #turn { display: block; } .turns .still { display: none; }
#turn canvas { width: 100%; height: min(110mm, 70vh); display: block; touch-action: none; cursor: grab; outline: none; }
#turn canvas:focus-visible { box-shadow: 0 0 0 0.4mm #6b7f73; } #turn .hands { font-size: 9.5pt; min-height: 6mm; }
#turn div.hands { display: flex; flex-wrap: wrap; gap: 2mm 5mm; align-items: center; }
#turn label { display: flex; align-items: center; gap: 2mm; flex: 1 1 40mm; } #turn input { flex: 1; height: 8mm; }
#turn #turn-painted { flex: none; } #turn #turn-painted input { flex: none; width: 4.5mm; height: 4.5mm; }
#turn button { font: inherit; padding: 1.5mm 4mm; }
#turn #turn-leaves { gap: 1.5mm 2mm; } #turn #turn-leaves button { padding: 0.8mm 2.5mm; }
#turn button[aria-pressed="true"] { background: #dfe8e2; border-color: #3f5a4c; }
#turn .parts a { display: inline-block; padding: 0.6mm 1.6mm; font-size: 9pt; color: #3f5a4c; }
#turn .parts a.chosen { background: #dfe8e2; }
@media print { #turn, .turns #turn { display: none; } .turns .still { display: block; } }
@media print { body { padding: 0; max-width: none; font-size: 9.5pt; line-height: 1.35; } nav { display: none; }
  h2 { margin: 6mm 0 2mm; } h3 { margin: 3.5mm 0 1.5mm; } p { margin-bottom: 2mm; }
  h1 { font-size: 20pt; } .lead { font-size: 10.5pt; } ol, ul { margin: 1mm 0 2mm; } li { margin-bottom: 0.5mm; }
  dl.cautions { font-size: 8.5pt; gap: 0.8mm 4mm; line-height: 1.25; } table { font-size: 8.5pt; margin: 1mm 0 3mm; }
  th { font-size: 8pt; } th, td { padding: 0.5mm 2mm 0.5mm 0; } 
  .appendices { font-size: 8.5pt; line-height: 1.3; } code { font-size: 8pt; } }
"""


def page(
    title: str, header: str, chapters: Sequence[tuple[str, str]], appendices: Sequence[tuple[str, str]] = ()
) -> str:
    """Return a whole HTML page. title is plain text; header, chapters and appendices (heading, body) are markup."""
    numbered = [(f"chapter-{number}", *chapter) for number, chapter in enumerate([*chapters, *appendices], start=1)]
    links = "".join(f'<a href="#{anchor}">{heading}</a> ' for anchor, heading, _ in numbered)
    sections = [
        f'<section id="{anchor}">\n<h2>{heading}</h2>\n{content}\n</section>' for anchor, heading, content in numbered
    ]
    body = "\n".join(sections[: len(chapters)])
    if appendices:
        after = "\n".join(sections[len(chapters) :])
        body += f'\n<div class="appendices">\n<p class="part">Appendices: to look things up</p>\n{after}\n</div>'
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8"/>
<meta name="viewport" content="width=device-width, initial-scale=1"/>
<title>{text(title)}</title>
<style>{_STYLE}</style>
</head>
<body>
<header>
{header}
<nav>{links}</nav>
</header>
{body}
</body>
</html>
"""
