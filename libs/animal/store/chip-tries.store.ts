import { rateLimited } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { CHIP_WINDOW_SECONDS, CHIPS_COME_UPON, chipWait } from '../core/mark-conflict.core.js';
import { CHIP_KINDS, type MarkKind } from '../core/mark.core.js';

/**
 * Throws RATE_LIMITED where the account has come upon too many numbers of other keepers' animals of late, whichever number it
 * records now: the refusal tells nothing of that one. Call it before anything is locked; chips of one account are recorded one
 * after the other, so that many at once are counted too.
 */
export async function requireChipTries(tx: Tx, kinds: readonly MarkKind[]): Promise<void> {
  if (tx.actorId === null || !kinds.some((kind) => CHIP_KINDS.includes(kind))) return;
  await tx.db.$queryRaw`SELECT 1 AS locked FROM pg_advisory_xact_lock(hashtextextended(${`chips:${tx.actorId}`}, 0))`;
  const wait = chipWait(await cameUpon(tx, tx.actorId), tx.now);
  if (wait !== null) throw rateLimited(wait);
}

/**
 * Throws RATE_LIMITED where this act comes upon more such numbers than are left to the account, so that one list of many marks tells no
 * more than as many acts would: nothing of it is written. Call it after conflicts were opened.
 */
export async function requireFewComeUpon(tx: Tx): Promise<void> {
  if (tx.actorId === null) return;
  const times = await cameUpon(tx, tx.actorId);
  // Only the act that goes too far is refused.
  if (times.length <= CHIPS_COME_UPON || times[0]?.getTime() !== tx.now.getTime()) return;
  throw rateLimited(chipWait(times, tx.now) ?? CHIP_WINDOW_SECONDS);
}

/**
 * When a mark that the account recorded came into conflict with an animal that none of its keepers has or owns, once a number, latest
 * first. Not where the other one's mark came later; but where no mark was recorded just then: chips of a dead record are found out
 * by taking its death back.
 */
async function cameUpon(tx: Tx, accountId: string): Promise<Date[]> {
  const since = new Date(tx.now.getTime() - CHIP_WINDOW_SECONDS * 1000);
  const rows = await tx.db.$queryRaw<{ at: Date }[]>`
    SELECT max(c.opened_at) AS at
    FROM mark_conflict c
    JOIN animal_mark m ON m.match_value = c.value AND m.recorded_at <= c.opened_at
      AND m.animal_id IN (c.animal_a_id, c.animal_b_id)
      AND (m.recorded_at = c.opened_at OR NOT EXISTS (SELECT FROM animal_mark n
        WHERE n.match_value = c.value AND n.recorded_at = c.opened_at AND n.animal_id IN (c.animal_a_id, c.animal_b_id)))
    WHERE c.opened_at > ${since} AND m.recorded_by = ${accountId}::uuid AND NOT EXISTS (
      SELECT FROM animal_access a JOIN keeper_member k ON k.keeper_id = a.keeper_id
      WHERE a.animal_id = CASE m.animal_id WHEN c.animal_a_id THEN c.animal_b_id ELSE c.animal_a_id END
        AND a.relation IN ('holder', 'owner') AND a.valid_to IS NULL
        AND k.account_id = ${accountId}::uuid AND k.ended_at IS NULL)
    GROUP BY c.value ORDER BY 1 DESC LIMIT ${CHIPS_COME_UPON + 1}`;
  return rows.map(({ at }) => at);
}
