import { z } from 'zod';
import { type Day, parseDay } from '../../kernel/index.js';

/** An id in an input. Letters are lowered: UUIDs know no letter case (RFC 9562 section 4), the database gives small ones. */
export const idInput = z.uuid('This is not an id. | Use the id the registry gave.').toLowerCase();

/** A calendar day in an input. */
export const dayInput = z.custom<Day>(
  (value) => typeof value === 'string' && parseDay(value) !== null,
  'This is not a day. | Write year-month-day, for example 2026-05-03.',
);
