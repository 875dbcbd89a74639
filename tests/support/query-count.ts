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

/**
 * What each statement does and to what, in order, without the values it asks for: of two answers with the same kinds neither
 * tells by its time that there was more to look at.
 */
export async function kindsOf(work: () => Promise<unknown>): Promise<string[]> {
  return (await statementsOf(work)).map((text) => (text.split(/\bWHERE\b/)[0] ?? '').replaceAll(/\s+/g, ' ').trim());
}
