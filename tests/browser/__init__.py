"""The board in a real browser: Chromium driven by Playwright (extra `browser`)."""
