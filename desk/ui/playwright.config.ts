import { defineConfig } from '@playwright/test'

export default defineConfig({
  testDir: 'test',
  outputDir: 'test-results/runs',
  fullyParallel: false,
  workers: 1,
  timeout: 90_000,
  expect: { timeout: 15_000 },
  reporter: [['list']],
  use: {
    headless: true,
    launchOptions: {
      executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
      args: ['--no-sandbox', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
    },
    trace: process.env.TRACE ? 'retain-on-failure' : 'off',
  },
})
