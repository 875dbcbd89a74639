import { type Tx } from '../../platform/prisma/index.js';
import { type HandOverCode, MAX_WRONG_TRIES } from './hand-over.core.js';

/** Opens a code of a locked transfer; one that worked before does so no more. */
export async function openCode(
  tx: Tx,
  code: Pick<HandOverCode, 'id' | 'codeHash' | 'expiresAt' | 'reasonGiven'> & { readonly transferId: string },
  openedBy: string,
): Promise<void> {
  await tx.db.handOverCode.updateMany({
    where: { transferId: code.transferId, closedAt: null },
    data: { closedAt: tx.now },
  });
  await tx.db.handOverCode.create({ data: { ...code, openedFor: 'giver', openedBy, openedAt: tx.now } });
}

/** The code of a locked transfer that was opened last, or null. */
export async function lastCode(tx: Tx, transferId: string): Promise<HandOverCode | null> {
  return tx.db.handOverCode.findFirst({ where: { transferId }, orderBy: [{ openedAt: 'desc' }, { id: 'desc' }] });
}

/** Counts a wrong try; the last that is allowed closes the code. */
export async function countWrongTry(tx: Tx, code: HandOverCode): Promise<void> {
  const wrongTries = code.wrongTries + 1;
  const closed = wrongTries >= MAX_WRONG_TRIES ? { closedAt: tx.now } : {};
  await tx.db.handOverCode.update({ where: { id: code.id }, data: { wrongTries, ...closed } });
}

/** A code works once. */
export async function useCode(tx: Tx, id: string): Promise<void> {
  await tx.db.handOverCode.update({ where: { id }, data: { usedAt: tx.now, closedAt: tx.now } });
}
