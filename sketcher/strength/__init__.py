"""Does it hold: seal glands, screws, flat plates, threads, expansion."""
