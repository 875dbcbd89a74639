import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import {
  type AccountMail,
  accountMail,
  ADDRESS_TAKEN_MAIL,
  CODE_HOURS,
  type CodePurpose,
} from '../session/account-mail.core.js';
import { hashSecret, newSecret } from '../session/session.store.js';

/** Mails an account a new code; earlier ones for the same purpose are no longer good. */
export async function mailCode(tx: Tx, accountId: string, purpose: CodePurpose): Promise<void> {
  const { secret, hash } = newSecret();
  await tx.db.accountCode.updateMany({ where: { accountId, purpose, usedAt: null }, data: { usedAt: tx.now } });
  await tx.db.accountCode.create({
    data: {
      hash,
      accountId,
      purpose,
      createdAt: tx.now,
      expiresAt: new Date(tx.now.getTime() + CODE_HOURS[purpose] * 3_600_000),
    },
  });
  await mailAccount(tx, accountId, accountMail(purpose, secret));
}

/** Tells whoever reads the address that somebody tried to open an account with it. */
export async function mailAddressTaken(tx: Tx, email: string): Promise<void> {
  const account = await tx.db.account.findUnique({ where: { email }, select: { id: true } });
  if (account !== null) await mailAccount(tx, account.id, ADDRESS_TAKEN_MAIL);
}

async function mailAccount(tx: Tx, accountId: string, mail: AccountMail): Promise<void> {
  const id = uuid();
  await tx.db.mailMessage.create({
    data: {
      id,
      accountId,
      kind: 'account',
      ...mail,
      dedupeKey: `account:${id}`,
      createdAt: tx.now,
      dueAt: tx.now,
    },
  });
}

/** Uses a code up. Gives the account it was mailed to; null for one that is unknown, used or too old. One of two at once succeeds. */
export async function useCode(tx: Tx, code: string, purpose: CodePurpose): Promise<string | null> {
  const hash = hashSecret(code);
  const { count } = await tx.db.accountCode.updateMany({
    where: { hash, purpose, usedAt: null, expiresAt: { gt: tx.now } },
    data: { usedAt: tx.now },
  });
  if (count === 0) return null;
  const { accountId } = await tx.db.accountCode.findUniqueOrThrow({ where: { hash }, select: { accountId: true } });
  return accountId;
}
