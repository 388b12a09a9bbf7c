"""The library's tables, as the steps that lead to them.

Each step is a tuple of statements that run in one transaction and end with
``PRAGMA user_version``; a library of any earlier version is led up step by step when it is
opened. Steps are never changed once released, only added.

take: one recording, or one section of it, once. section: where which take lies in which recording.
recording: what `stackline watch` has worked through, by its content; it outlives the takes.
sound: of the voicings of a take (`kept_sound`). setting: what the player chose for the library.
document: the take as it was heard, zlib of JSON format 1.
voicing, structure: rows derived from the take with the player's corrections in it, for
searching; they can always be made again. correction: what the player put right, by place in
the recording, so that it outlives a new analysis. pass: what reviews found. resolution: what
became of each note that was due to move, key: the pitch class it leads home to, came: the degree
it reached instead. index_form: which form of these rows a take has (`INDEX_FORM`). Times in
seconds, dates ISO 8601, roots and keys pitch classes from C.
"""

STEP_1 = (
    """CREATE TABLE take (
        id INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        played_on TEXT NOT NULL,
        added_at TEXT NOT NULL,
        ear TEXT NOT NULL,
        version TEXT NOT NULL,
        duration_s REAL NOT NULL,
        tempo_bpm REAL,
        n_voicings INTEGER NOT NULL,
        note TEXT NOT NULL DEFAULT '',
        document BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE voicing (
        take_id INTEGER NOT NULL REFERENCES take (id) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        onset_s REAL NOT NULL,
        symbol TEXT NOT NULL,
        root INTEGER NOT NULL,
        quality TEXT NOT NULL,
        stack TEXT NOT NULL,
        shape TEXT NOT NULL,
        key INTEGER,
        move INTEGER,
        move_degrees TEXT,
        confidence REAL NOT NULL,
        corrected INTEGER NOT NULL,
        PRIMARY KEY (take_id, place)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE structure (
        name TEXT NOT NULL,
        take_id INTEGER NOT NULL,
        place INTEGER NOT NULL,
        PRIMARY KEY (name, take_id, place),
        FOREIGN KEY (take_id, place) REFERENCES voicing (take_id, place) ON DELETE CASCADE
    ) STRICT, WITHOUT ROWID""",
    "CREATE INDEX structure_of ON structure (take_id, place)",
    "CREATE INDEX voicing_symbol ON voicing (symbol)",
    "CREATE INDEX voicing_quality ON voicing (quality)",
    "CREATE INDEX voicing_stack ON voicing (stack)",
    "CREATE INDEX voicing_shape ON voicing (shape)",
    "CREATE INDEX voicing_key ON voicing (key)",
    "CREATE INDEX voicing_move ON voicing (move)",
    "CREATE INDEX voicing_move_degrees ON voicing (move_degrees)",
    "CREATE INDEX take_played ON take (played_on)",
    """CREATE TABLE correction (
        id INTEGER PRIMARY KEY,
        take_id INTEGER NOT NULL REFERENCES take (id) ON DELETE CASCADE,
        onset_s REAL NOT NULL,
        symbol TEXT,
        pitches TEXT,
        made_at TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX correction_of ON correction (take_id, onset_s)",
)

STEP_2 = (
    """CREATE TABLE target (
        name TEXT PRIMARY KEY,
        document TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE pass (
        id INTEGER PRIMARY KEY,
        take_id INTEGER NOT NULL REFERENCES take (id) ON DELETE CASCADE,
        target TEXT NOT NULL REFERENCES target (name) ON DELETE CASCADE ON UPDATE CASCADE,
        played_on TEXT NOT NULL,
        start_s REAL NOT NULL,
        key INTEGER NOT NULL,
        finished INTEGER NOT NULL,
        clean INTEGER NOT NULL,
        landed INTEGER NOT NULL,
        due INTEGER NOT NULL,
        tempo_bpm REAL,
        faults TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX pass_of ON pass (take_id)",
    """CREATE INDEX pass_target
        ON pass (target, key, played_on, start_s, finished, clean, landed, due, tempo_bpm)""",
)

STEP_3 = (
    """CREATE TABLE resolution (
        take_id INTEGER NOT NULL,
        place INTEGER NOT NULL,
        number INTEGER NOT NULL,
        degree TEXT NOT NULL,
        is_top INTEGER NOT NULL,
        outcome TEXT NOT NULL,
        came TEXT,
        key INTEGER NOT NULL,
        confidence REAL NOT NULL,
        PRIMARY KEY (take_id, place, number),
        FOREIGN KEY (take_id, place) REFERENCES voicing (take_id, place) ON DELETE CASCADE
    ) STRICT, WITHOUT ROWID""",
    "CREATE INDEX resolution_due ON resolution (degree, key, is_top, outcome, confidence)",
    "ALTER TABLE voicing ADD COLUMN lowest INTEGER",
    "ALTER TABLE voicing ADD COLUMN highest INTEGER",
    "ALTER TABLE take ADD COLUMN index_form INTEGER NOT NULL DEFAULT 0",
)

STEP_4 = (
    """CREATE TABLE section (
        take_id INTEGER PRIMARY KEY REFERENCES take (id) ON DELETE CASCADE,
        of_name TEXT NOT NULL,
        of_sha256 TEXT NOT NULL,
        start_s REAL NOT NULL,
        end_s REAL NOT NULL
    ) STRICT""",
    "CREATE INDEX section_of ON section (of_sha256)",
    """CREATE TABLE recording (
        sha256 TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        heard_at TEXT NOT NULL,
        outcome TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
)

STEP_5 = (
    """CREATE TABLE sound (
        take_id INTEGER PRIMARY KEY REFERENCES take (id) ON DELETE CASCADE,
        spans TEXT NOT NULL,
        data BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE setting (
        name TEXT PRIMARY KEY,
        value TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
)

STEPS = (STEP_1, STEP_2, STEP_3, STEP_4, STEP_5)
INDEX_FORM = 1  # of the rows that follow from a take; lower ones are made anew when they are asked
