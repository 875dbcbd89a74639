/** What every context speaks: decisions, errors, days, uncertain dates, numbers with checks. Pure; imports nothing. */
export * from './cursor.js';
export * from './day-range.js';
export * from './day.js';
export * from './decision.js';
export * from './edtf.js';
export * from './errors.js';
export * from './id.js';
export * from './iso7064.js';
export * from './natural-day.js';
export * from './region.js';
export * from './register-number.js';
export * from './shares.js';
export * from './span-days.js';
export * from './text.js';
export * from './three-valued.js';
export * from './transponder.js';
export * from './viewer.js';
