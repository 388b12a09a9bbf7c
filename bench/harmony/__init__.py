"""How well what is said and written of harmony holds.

In: made takes with their truth. Out: figures in bench/results. `laid` lays forms under anticipated
comping; `sentences` makes voicings and moves and has `voicing_sentences` and `move_sentences`
(over `pitch_facts`) read every sentence that is said of them; `score_readers` has other programs
read the scores that are written (over `musicxml_readers`).
"""
