"""`python -m formsketch`."""

from formsketch.cli import main

main()
