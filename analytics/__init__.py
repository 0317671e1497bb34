"""Records, trade arithmetic and honest comparison of standing and windrowed canola."""
