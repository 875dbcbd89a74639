import { busy, type DomainError, unavailable } from '../../kernel/index.js';

/** What Postgres said, dug out of whichever wrapper Prisma put around it. */
export type DatabaseFault = {
  readonly sqlState: string;
  /** Name of the constraint that was hit, where Postgres gave one. */
  readonly constraint: string | undefined;
};

function field(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>)[key] : undefined;
}

/**
 * Reads SQLSTATE and constraint from a Prisma error, or null when it is no database fault. A fault inside a statement
 * comes as a Prisma error with the adapter's error in `meta`, one raised at COMMIT as the adapter's error itself, without
 * the constraint's name: our triggers repeat it in their message. tests/store/database-error.spec.ts pins each shape.
 */
export function readDatabaseFault(error: unknown): DatabaseFault | null {
  const cause = field(field(field(error, 'meta'), 'driverAdapterError'), 'cause') ?? field(error, 'cause');
  const sqlState = field(cause, 'originalCode') ?? (field(error, 'code') === 'P2034' ? '40001' : undefined);
  if (typeof sqlState !== 'string') return null;
  const index = field(field(cause, 'constraint'), 'index');
  const message = field(cause, 'originalMessage');
  const quoted = typeof message === 'string' ? /constraint "([^"]+)"/.exec(message)?.[1] : undefined;
  return { sqlState, constraint: typeof index === 'string' ? index : quoted };
}

/** Serialization failure or deadlock: the whole transaction may be tried again with fresh reads. */
export function mayRetry(fault: DatabaseFault | null): boolean {
  return fault?.sqlState === '40001' || fault?.sqlState === '40P01';
}

/** Lock or statement timeout, or no connection free in time: the caller may send the same request again. */
export function isBusy(fault: DatabaseFault | null, error: unknown): boolean {
  return (
    fault?.sqlState === '55P03' ||
    fault?.sqlState === '57014' ||
    field(error, 'code') === 'P2028' ||
    field(error, 'code') === 'P2024'
  );
}

/** Classes of SQLSTATE and words of the driver that mean: no answer from the database, whatever was asked. */
const NO_ANSWER = /^(?:08|57P0[1-3]|53300)/;
const LOST_CONNECTION = /connection error and is not queryable|Connection terminated|Connection closed/;

/**
 * The database does not answer, or went away in the middle. What was not committed is gone; whether a COMMIT in flight was
 * carried out is not known, so only a request with an Idempotency-Key may be repeated blindly.
 */
export function isUnreachable(fault: DatabaseFault | null, error: unknown): boolean {
  if (fault !== null) return NO_ANSWER.test(fault.sqlState);
  const code = field(error, 'code');
  const kind = field(
    field(field(field(error, 'meta'), 'driverAdapterError'), 'cause') ?? field(error, 'cause'),
    'kind',
  );
  return (
    code === 'P1001' ||
    code === 'P1017' ||
    kind === 'DatabaseNotReachable' ||
    kind === 'ConnectionClosed' ||
    kind === 'TooManyConnections' ||
    (error instanceof Error && LOST_CONNECTION.test(error.message))
  );
}

/** The refusal a client is told of a database fault that is nobody's mistake; null for anything else. */
export function databaseRefusal(error: unknown): DomainError | null {
  const fault = readDatabaseFault(error);
  if (isBusy(fault, error)) return busy();
  return isUnreachable(fault, error) ? unavailable('The database') : null;
}
