import { dayOf, type Day } from '../kernel/index.js';

/** The server's clock. A class of its own so that tests and the demo's history can set another. */
export class Clock {
  now(): Date {
    return new Date();
  }

  /** The calendar day in UTC. */
  today(): Day {
    return dayOf(this.now());
  }
}
