import pg from 'pg';

/** One statement as it went to the server. */
export type Statement = { readonly text: string; readonly values: readonly unknown[] };

/**
 * Runs `work` and gives every statement any PostgreSQL client of this process sent meanwhile, in order. Nothing else may
 * use the database in this process at the time.
 */
export async function recordStatements(work: () => Promise<unknown>): Promise<Statement[]> {
  const recorded: Statement[] = [];
  const prototype = pg.Client.prototype as unknown as { query: (...args: unknown[]) => unknown };
  const original = prototype.query;
  prototype.query = function (this: unknown, ...args: unknown[]) {
    const [first, second] = args;
    if (typeof first === 'string') recorded.push({ text: first, values: Array.isArray(second) ? second : [] });
    else {
      const { text, values } = first as { text: string; values?: unknown[] };
      recorded.push({ text, values: values ?? [] });
    }
    return original.apply(this, args);
  };
  try {
    await work();
  } finally {
    prototype.query = original;
  }
  return recorded;
}

const UUID = /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/g;

/** The same statements about other rows: every id in every value goes through `rename`, also inside JSON and lists. */
export function renameIds(statements: readonly Statement[], rename: (id: string) => string): Statement[] {
  const inside = (value: unknown): unknown => {
    if (typeof value === 'string') return value.replace(UUID, rename);
    return Array.isArray(value) ? value.map(inside) : value;
  };
  return statements.map(({ text, values }) => ({ text, values: values.map(inside) }));
}

/** The moment in a UUID of version 7 (RFC 9562 section 5.7), in milliseconds. */
export function momentOf(id: string): number {
  return Number.parseInt(id.replaceAll('-', '').slice(0, 12), 16);
}

/** A statement with its values written into it, for programs that know no parameters. */
export function inline({ text, values }: Statement): string {
  return `${text.replace(/\$(\d+)/g, (_, place: string) => literal(values[Number(place) - 1])).replace(/;\s*$/, '')};`;
}

function literal(value: unknown): string {
  if (value === null || value === undefined) return 'NULL';
  if (value instanceof Uint8Array) return `'\\x${Buffer.from(value).toString('hex')}'`;
  return `'${textOf(value).replaceAll("'", "''")}'`;
}

function textOf(value: unknown): string {
  if (Array.isArray(value)) return `{${value.map((each) => element(each)).join(',')}}`;
  if (value instanceof Date) return value.toISOString();
  return typeof value === 'string' ? value : JSON.stringify(value);
}

function element(value: unknown): string {
  return value === null ? 'NULL' : `"${textOf(value).replace(/["\\]/g, '\\$&')}"`;
}
