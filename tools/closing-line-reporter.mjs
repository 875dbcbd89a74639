/**
 * Jest reporter: ends the run with one plain line, `N passed, N failed, N skipped`. With KITHBOOK_FAIL_ON_SKIP=1 a
 * skipped test fails the run, because a suite that silently leaves checks out looks like one that passed them.
 */
export default class ClosingLineReporter {
  passed = 0;
  failed = 0;
  skipped = 0;

  onTestResult(_test, file) {
    this.passed += file.numPassingTests;
    // A file that could not be loaded has no tests to count, but it did fail.
    this.failed += file.numFailingTests + (file.testExecError && file.numFailingTests === 0 ? 1 : 0);
    this.skipped += file.numPendingTests + file.numTodoTests;
  }

  /** Jest asks after the last file and before the summary; an error makes the exit code 1. */
  getLastError() {
    if (process.env.KITHBOOK_FAIL_ON_SKIP !== '1' || this.skipped === 0) return undefined;
    return new Error(`${this.skipped} tests were skipped, and KITHBOOK_FAIL_ON_SKIP=1 forbids that`);
  }

  onRunComplete() {
    const error = this.getLastError();
    if (error) process.stderr.write(`${error.message}\n`);
    const line = `${this.passed} passed, ${this.failed} failed, ${this.skipped} skipped\n`;
    // Jest puts its own summary after every other reporter's words; the closing line has to come after that.
    process.once('exit', () => process.stdout.write(line));
  }
}
