import { type RateLimit } from '../rate-limit/index.js';

/** Sockets of one process. */
export const MOST_SOCKETS = 2_000;
/** Sockets of one account in one process: a few browser windows, a telephone. */
export const MOST_SOCKETS_AN_ACCOUNT = 10;
/** Subscriptions of one socket. */
export const MOST_OPERATIONS = 20;
/** Bytes of a message. A document has 2,000 tokens at most. */
export const MOST_BYTES = 64 * 1024;
/** Messages of one socket in ten seconds. */
export const MOST_MESSAGES = 100;
export const MESSAGES_MS = 10_000;
/** Milliseconds in which a socket says who it is. */
export const GREETING_MS = 5_000;
/** Milliseconds between pings; one that is not answered by the next closes the socket. */
export const PING_MS = 30_000;
/** Milliseconds a socket lasts at most where its token has no end. */
export const LONGEST_MS = 3_600_000;

/** Sockets an account opens, in all processes. */
export const OPENED: RateLimit = { name: 'live-sockets', times: 60, seconds: 600 };

/** Why a socket was closed; clients come back by themselves after `lapsed`, with a new token. */
export const CLOSED = {
  stopping: [1001, 'The server stops'],
  noToken: [4401, 'Sign in: no good token came with the first message'],
  sessionOver: [4401, 'This sign-in is over'],
  lapsed: [4403, 'The access token has lapsed'],
  tooMany: [4429, 'Too many sockets or messages'],
  trouble: [4500, 'Something went wrong on our side'],
} as const;
