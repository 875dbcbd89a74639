import type { Day, DaySpan } from '../../kernel/index.js';
import type { Arrival, Departure, Holder } from './holder.core.js';

/** Fates of an animal that lives and is not with its keeper; each is a word of the stock book too. */
export type GoneFate = Extract<
  Departure,
  'missing' | 'stolen' | 'escaped' | 'seized' | 'surrendered' | 'left_registry'
>;

const GONE: readonly string[] = [
  'missing',
  'stolen',
  'escaped',
  'seized',
  'surrendered',
  'left_registry',
] satisfies readonly GoneFate[];

/** Whether an animal that met this fate lives and is not with its keeper. */
export function isGone(fate: string): fate is GoneFate {
  return GONE.includes(fate);
}

/** Where an animal is once it has met a fate, and in which words the stock book says so. */
export function custodyAfter(fate: GoneFate): {
  readonly to: Holder;
  readonly leftBy: Departure;
  readonly arrivedBy: Arrival;
} {
  const kind = fate === 'seized' || fate === 'surrendered' ? 'authority' : 'unknown';
  return { to: { kind }, leftBy: fate, arrivedBy: kind === 'authority' ? 'received' : 'lost' };
}

/**
 * The day from which the stock book follows an uncertain day: the latest it can be, because until then it may have been
 * there; never after today.
 */
export function bookDay(when: DaySpan, today: Day): Day {
  return when.latest === null || when.latest > today ? today : when.latest;
}

/** For how many days after handing an animal over its last keeper is asked for their side of a theft. Own choice. */
export const REPLY_DAYS = 180;
