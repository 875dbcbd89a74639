import { createHash, randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { SESSION_DAYS } from './session.core.js';

/** How a session ended. */
export type SessionEnd = 'signed_out' | 'revoked' | 'token_reused' | 'password_changed';

/** A sign-in as its person sees it. */
export type SessionView = {
  readonly id: string;
  readonly device: string | null;
  readonly createdAt: Date;
  readonly renewedAt: Date;
  readonly expiresAt: Date;
};

/** A secret to be told once, and what is kept of it. 256 bits: no salt and no slow hash are needed. */
export function newSecret(): { readonly secret: string; readonly hash: Uint8Array<ArrayBuffer> } {
  const secret = randomBytes(32).toString('base64url');
  return { secret, hash: hashSecret(secret) };
}

/** What is kept of a secret. */
export function hashSecret(secret: string): Uint8Array<ArrayBuffer> {
  return new Uint8Array(createHash('sha256').update(secret).digest());
}

const lifetime = (now: Date): Date => new Date(now.getTime() + SESSION_DAYS * 86_400_000);

/** Reads an account's sessions. */
@Injectable()
export class SessionStore {
  constructor(private readonly database: Database) {}

  /** The sessions that are open, the one used last first. */
  async findOpen(accountId: string, now: Date): Promise<SessionView[]> {
    return this.database.client.session.findMany({
      where: { accountId, endedAt: null, expiresAt: { gt: now } },
      orderBy: [{ renewedAt: 'desc' }, { id: 'desc' }],
      select: { id: true, device: true, createdAt: true, renewedAt: true, expiresAt: true },
    });
  }
}

/** Begins a session. Gives its id and the first refresh token. */
export async function beginSession(
  tx: Tx,
  { accountId, device }: { accountId: string; device: string | null },
): Promise<{ sessionId: string; refreshToken: string; refreshUntil: Date }> {
  const sessionId = uuid();
  const refreshUntil = lifetime(tx.now);
  const { secret, hash } = newSecret();
  await tx.db.session.create({
    data: {
      id: sessionId,
      accountId,
      device,
      createdAt: tx.now,
      renewedAt: tx.now,
      expiresAt: refreshUntil,
      tokens: { create: { hash, issuedAt: tx.now } },
    },
  });
  return { sessionId, refreshToken: secret, refreshUntil };
}

/** A session locked by one of its refresh tokens; null where no session has it. */
export async function lockByRefreshToken(tx: Tx, refreshToken: string) {
  const hash = hashSecret(refreshToken);
  const known = await tx.db.refreshToken.findUnique({ where: { hash }, select: { sessionId: true } });
  if (known === null) return null;
  // Two that show the same token at once come one after the other, and the second reads that it was used.
  await tx.db.$queryRaw`SELECT id FROM session WHERE id = ${known.sessionId}::uuid FOR NO KEY UPDATE`;
  const { session, usedAt } = await tx.db.refreshToken.findUniqueOrThrow({
    where: { hash },
    select: { usedAt: true, session: { select: { id: true, accountId: true, endedAt: true, expiresAt: true } } },
  });
  return {
    sessionId: session.id,
    accountId: session.accountId,
    ended: session.endedAt !== null,
    expiresAt: session.expiresAt,
    usedAt,
  };
}

/** Uses up every refresh token of a locked session and gives the next one. */
export async function renewSession(tx: Tx, sessionId: string): Promise<{ refreshToken: string; refreshUntil: Date }> {
  const refreshUntil = lifetime(tx.now);
  const { secret, hash } = newSecret();
  await tx.db.refreshToken.updateMany({ where: { sessionId, usedAt: null }, data: { usedAt: tx.now } });
  await tx.db.refreshToken.create({ data: { hash, sessionId, issuedAt: tx.now } });
  await tx.db.session.update({ where: { id: sessionId }, data: { renewedAt: tx.now, expiresAt: refreshUntil } });
  return { refreshToken: secret, refreshUntil };
}

/** Ends sessions of an account that are open: one, or all but one. Gives how many. */
export async function endSessions(
  tx: Tx,
  accountId: string,
  which: { readonly only: string } | { readonly allBut: string | null },
  endedBy: SessionEnd,
): Promise<number> {
  const id = 'only' in which ? which.only : which.allBut === null ? undefined : { not: which.allBut };
  const { count } = await tx.db.session.updateMany({
    where: { accountId, endedAt: null, ...(id === undefined ? {} : { id }) },
    data: { endedAt: tx.now, endedBy },
  });
  return count;
}
