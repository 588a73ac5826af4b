"""The page that carries a guide: one file, nothing fetched, fit for the printer, readable without scripts."""

from __future__ import annotations

from collections.abc import Iterable

from .markup import text

__all__ = ["page"]

_STYLE = """
@page { size: A4; margin: 15mm; }
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
thead { display: table-header-group; } tr { break-inside: avoid; }
figure { margin: 0; break-inside: avoid; }
figcaption { font-size: 8.5pt; color: #45433b; margin-top: 1mm; max-width: 176mm; }
.pictures { display: flex; flex-wrap: wrap; gap: 5mm 6mm; align-items: flex-end; margin: 3mm 0; }
.sheets figure { margin: 3mm 0 5mm; }
svg { display: block; max-width: 100%; height: auto; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
svg path, svg rect { vector-effect: non-scaling-stroke; stroke-width: 0.8px; stroke-linejoin: round; }
svg text { text-anchor: middle; fill: #24231f; }
.board { fill: #efe7d6; stroke: #24231f; fill-rule: evenodd; } svg rect.board { fill: #f4efe4; }
.zone { fill: #d8cbb0; stroke: none; } .slits { fill: none; stroke: #24231f; }
.engrave { fill: none; stroke: #a2957a; } .score { fill: none; stroke: #55705f; stroke-dasharray: 3 2; }
.sheet { fill: #fbfaf7; stroke: #6b7f73; }
.id { font-weight: bold; paint-order: stroke; stroke: #efe7d6; stroke-width: 1.2px; }
.cheek { fill: #dcc3a4; stroke: #24231f; } .core { fill: #b98c60; stroke: #24231f; }
.card { fill: #fff; stroke: #24231f; } .hidden { fill: none; stroke: #24231f; stroke-dasharray: 3 2; }
svg .hand { fill: none; stroke: #7a2e1d; stroke-width: 2px; } svg .tip { fill: #7a2e1d; stroke: none; }
.standing { width: 100%; max-height: 88mm; margin: 0 auto; }
.step { break-inside: avoid; margin-bottom: 7mm; }
.findings li { margin-bottom: 2mm; } .weight { font-weight: bold; text-transform: capitalize; }
#turn { display: none; margin: 3mm 0; } .turns #turn { display: block; } .turns .still { display: none; }
#turn canvas { width: 100%; height: min(110mm, 70vh); display: block; touch-action: none; cursor: grab; outline: none; }
#turn canvas:focus-visible { box-shadow: 0 0 0 0.4mm #6b7f73; } #turn .hands { font-size: 9.5pt; min-height: 6mm; }
#turn div.hands { display: flex; flex-wrap: wrap; gap: 2mm 5mm; align-items: center; }
#turn label { display: flex; align-items: center; gap: 2mm; flex: 1 1 40mm; } #turn input { flex: 1; height: 8mm; }
#turn button { font: inherit; padding: 1.5mm 4mm; } #turn .parts a { display: inline-block; padding: 0.6mm 1.6mm;
  font-size: 9pt; color: #3f5a4c; } #turn .parts a.chosen { background: #dfe8e2; }
@media print { #turn, .turns #turn { display: none; } .turns .still { display: block; } }
@media print { body { padding: 0; max-width: none; } nav { display: none; } }
"""


def page(title: str, header: str, chapters: Iterable[tuple[str, str]]) -> str:
    """Return a whole HTML page. title is plain text; header and chapters (heading, body) are markup."""
    numbered = [(f"chapter-{number}", *chapter) for number, chapter in enumerate(chapters, start=1)]
    links = "".join(f'<a href="#{anchor}">{heading}</a> ' for anchor, heading, _ in numbered)
    body = "\n".join(
        f'<section id="{anchor}">\n<h2>{heading}</h2>\n{content}\n</section>' for anchor, heading, content in numbered
    )
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
