import pg from 'pg';

/** Statements sent to PostgreSQL by this process while `work` runs, transaction commands included. */
export async function statementsOf(work: () => Promise<unknown>): Promise<string[]> {
  const statements: string[] = [];
  const prototype = pg.Client.prototype as unknown as { query: (...args: unknown[]) => unknown };
  const original = prototype.query;
  prototype.query = function (this: unknown, ...args: unknown[]): unknown {
    const [query] = args;
    statements.push(typeof query === 'string' ? query : String((query as { text?: unknown }).text));
    return original.apply(this, args);
  };
  try {
    await work();
  } finally {
    prototype.query = original;
  }
  return statements;
}
