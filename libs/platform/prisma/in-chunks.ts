/** Rows a statement: PostgreSQL takes 65,535 parameters, and no table here has more than thirty columns. */
const ROWS = 1_000;

/** Hands many rows to `write`, some at a time and one after the other, so that no statement grows too large. Nothing for no rows. */
export async function inChunks<T>(rows: readonly T[], write: (chunk: T[]) => Promise<unknown>): Promise<void> {
  for (let at = 0; at < rows.length; at += ROWS) await write(rows.slice(at, at + ROWS));
}
