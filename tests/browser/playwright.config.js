import { defineConfig } from "@playwright/test";

export default defineConfig({
  testDir: ".",
  // Each test has a daemon of its own; one at a time keeps the timings honest.
  workers: 1,
  timeout: 90_000,
  // A busy machine may hold a browser up once; a test that needs its second try is reported as flaky.
  retries: process.env.CI ? 1 : 0,
  expect: { timeout: 10_000 },
  reporter: "list",
  use: {
    launchOptions: {
      executablePath: process.env.CONEWRIGHT_CHROMIUM ?? "/usr/bin/chromium",
      // Root has no sandbox; the page under test is the project's own.
      args: process.getuid?.() === 0 ? ["--no-sandbox"] : [],
    },
  },
});
