"""How does a debrief look on the screen and on paper?"""

STYLE = """
:root { color-scheme: light; }
body { margin: 0; background: #fff; color: #1a1a1a; font: 15px/1.45 Helvetica, Arial,
  'DejaVu Sans', sans-serif; }
main { max-width: 1120px; margin: 0 auto; padding: 20px 24px; }
h1 { font-size: 26px; margin: 0; }
h2 { font-size: 17px; margin: 22px 0 6px; }
.under { margin: 2px 0 10px; color: #444; }
.told { margin: 0 0 10px; padding: 10px 14px 10px 32px; background: #f1f1f1;
  border-left: 5px solid #1a1a1a; font-size: 17px; }
figure { margin: 0; }
svg { width: 100%; height: auto; display: block; }
table { border-collapse: collapse; min-width: 50%; font-size: 14px; }
th { text-align: left; border-bottom: 2px solid #1a1a1a; padding: 3px 22px 3px 0;
  vertical-align: bottom; }
td { border-bottom: 1px solid #ccc; padding: 3px 22px 3px 0; vertical-align: top; }
.progress { max-width: 760px; margin-bottom: 12px; }
footer { color: #333; font-size: 13px; border-top: 2px solid #1a1a1a; margin-top: 24px; }
footer h2 { font-size: 15px; margin-top: 10px; }
section + section { border-top: 2px solid #1a1a1a; margin-top: 28px; padding-top: 20px; }
@media (max-width: 780px) {
  main { padding: 12px; }
  table { display: block; overflow-x: auto; }
  th, td { padding-right: 10px; }
  figure { overflow-x: auto; }
  svg { min-width: 700px; }
}
@page { size: A4 landscape; margin: 12mm; }
@media print {
  main { max-width: none; padding: 0; }
  body { font-size: 11pt; }
  table { font-size: 10pt; }
  h2, thead { break-after: avoid; }
  tr, figure, .told { break-inside: avoid; }
  section + section { break-before: page; border: 0; }
}
"""
