"""The score written and drawn: MusicXML, MEI, SVG, HTML.

In: a laid-out score. Out: notation files and engraved pages. Read `musicxml_file` over
`musicxml_notes` and `musicxml_elements`, `mei_file`, `engraving`, then
`score_document` and `score_in_page`.
"""
