"""From voicing to voicing: who moves where, and what landed.

In: neighbouring voicings. Out: motions with their resolutions. Read `motion`, then `guide_tones`,
`pairing`, `parallels`, `resolutions` over the table `resolution_rules`, and `tally`.
"""
