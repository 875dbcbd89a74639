import { hash, verify } from '@node-rs/argon2';

// OWASP Password Storage Cheat Sheet: argon2id with 19 MiB, two passes, one lane. The library's default algorithm is argon2id.
const COST = { memoryCost: 19_456, timeCost: 2, parallelism: 1 };

/** Hash of a password, in the PHC string format; about 20 ms. */
export function hashPassword(password: string): Promise<string> {
  return hash(password, COST);
}

let decoy: Promise<string> | undefined;

/**
 * Whether the password fits the hash. With `null` (no such account) it takes as long and says no, so that the time of an
 * answer does not tell which addresses have accounts.
 */
export async function passwordFits(storedHash: string | null, password: string): Promise<boolean> {
  decoy ??= hashPassword('no account has this password');
  const fits = await verify(storedHash ?? (await decoy), password);
  return storedHash !== null && fits;
}
