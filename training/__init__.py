"""How the piano ear was made. Not installed; torch is needed only here."""
