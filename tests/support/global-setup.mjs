/**
 * Jest runs this once before the `server` project. Plain JavaScript, as its tear-down: Jest loads both outside its
 * ES module machinery. Workers inherit the environment left here.
 */
export default function globalSetup() {
  if (!process.env.TEST_DATABASE_URL) {
    throw new Error('TEST_DATABASE_URL is not set: run `npm test`, or name a PostgreSQL server for tests only.');
  }
  process.env.KITHBOOK_TEST_RUN = `${process.pid}_${Date.now().toString(36)}`;
}
