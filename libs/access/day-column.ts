import { type Day, day } from '../kernel/index.js';

/** A day as Prisma wants it for a `date` column. */
export function toDateColumn(value: Day): Date {
  return new Date(`${value}T00:00:00Z`);
}

/** A `date` column as a day. */
export function fromDateColumn(value: Date): Day {
  return day(value.toISOString().slice(0, 10));
}

/** The same for a column that may be null. */
export function fromDateColumnOrNull(value: Date | null): Day | null {
  return value === null ? null : fromDateColumn(value);
}
