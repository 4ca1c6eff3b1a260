def draw(results): raise SystemExit("later")
