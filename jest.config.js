/** One runner, two projects: `pure` needs nothing; `server` needs Postgres (its own, or TEST_DATABASE_URL). */
const shared = {
  rootDir: import.meta.dirname,
  testEnvironment: 'node',
  extensionsToTreatAsEsm: ['.ts'],
  moduleNameMapper: { '^(\\.{1,2}/.*)\\.js$': '$1' },
  transform: { '^.+\\.ts$': '@swc/jest' },
  setupFiles: ['<rootDir>/tests/support/fast-check-seed.mjs'],
  modulePathIgnorePatterns: ['<rootDir>/dist/'],
  transformIgnorePatterns: ['/node_modules/'],
};

export default {
  projects: [
    {
      ...shared,
      displayName: 'pure',
      testMatch: ['<rootDir>/{apps,libs}/**/*.spec.ts', '<rootDir>/tools/**/*.spec.ts'],
    },
    {
      ...shared,
      displayName: 'server',
      testMatch: ['<rootDir>/tests/**/*.spec.ts'],
      globalSetup: '<rootDir>/tests/support/global-setup.mjs',
      globalTeardown: '<rootDir>/tests/support/global-teardown.mjs',
    },
  ],
  reporters: ['default', '<rootDir>/tools/closing-line-reporter.mjs'],
  maxWorkers: 2,
  // Modules of finished files stay in a worker's memory: a new worker takes over before the old one runs out of it.
  workerIdleMemoryLimit: '1GB',
  // Generous: what is slow on a busy machine is no failure, and what hangs fails all the same.
  testTimeout: 120_000,
};
