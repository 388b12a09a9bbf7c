"""Bad input by the thousand: made from seeds, run, and judged by what comes of it.

In: a seed. Out: cases with a verdict each. Read `bad_input` and `case`, then what makes them
(`recordings`, `json_takes`, `sound_things`, `words`, `places`) and `judge`, which runs them in
processes of their own; `kills` ends processes while they write.
"""
