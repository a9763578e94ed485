"""`python -m app` is the same as `seatwright`."""

from app.cli import main

raise SystemExit(main())
