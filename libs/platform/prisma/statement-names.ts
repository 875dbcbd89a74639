/** How often a text is seen before it is prepared: what is sent a few times, such as a load, never is. */
const OFTEN = 10;
/** Texts that are prepared: each connection keeps their plans, so they must be few. */
const MOST_PREPARED = 250;
/** Texts that are counted, before the counting starts again. */
const MOST_COUNTED = 2_000;
/** A list longer than a page gets a plan for its own length: one plan for all lists is made for a few ids. */
const LONG_LIST = 100;

/** A statement on its way to the database. */
type Statement = { readonly sql: string; readonly args: readonly unknown[] };

/**
 * Names for statements that come again and again, so that a connection has them parsed and planned once; an empty name, which
 * prepares nothing, for all others. Without parameters (BEGIN, COMMIT) a statement is one message already.
 */
export function statementNames(): (statement: Statement) => string {
  const names = new Map<string, string>();
  const counts = new Map<string, number>();
  return ({ sql, args }) => {
    if (args.length === 0 || args.some((arg) => Array.isArray(arg) && arg.length > LONG_LIST)) return '';
    const known = names.get(sql);
    if (known !== undefined || names.size === MOST_PREPARED) return known ?? '';
    const count = (counts.get(sql) ?? 0) + 1;
    if (count < OFTEN) {
      if (counts.size === MOST_COUNTED) counts.clear();
      counts.set(sql, count);
      return '';
    }
    counts.delete(sql);
    const name = `often_${names.size}`;
    names.set(sql, name);
    return name;
  };
}
