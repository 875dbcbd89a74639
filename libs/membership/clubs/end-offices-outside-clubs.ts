import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { officeEnded } from './end-office.js';

type Row = { id: string; clubId: string; accountId: string; validFrom: Date; registrar: boolean };

/**
 * Ends, today, the offices of accounts that act for no member of the club any more: an office reads members' animals, so it
 * does not outlast membership, and nobody has to agree before a person may go. Refused LAST_REGISTRAR where the club would be
 * left without anybody who can appoint: a hand-over comes first. Call it after the membership has ended;
 * `only` names the one club it can be about.
 */
export async function endOfficesOutsideClubs(
  tx: Tx,
  accountIds: readonly string[],
  only: string | null = null,
): Promise<Decision<null>> {
  const ids = [...accountIds];
  const held = await tx.db.$queryRaw<{ clubId: string }[]>`
    SELECT DISTINCT club_id AS "clubId" FROM office
    WHERE account_id = ANY(${ids}::uuid[]) AND (valid_to IS NULL OR valid_to > ${tx.today}::date)
      AND (${only}::uuid IS NULL OR club_id = ${only}::uuid) ORDER BY 1`;
  for (const { clubId } of held)
    await tx.db.$queryRaw`SELECT id FROM club WHERE id = ${clubId}::uuid FOR NO KEY UPDATE`;
  const over = await tx.db.$queryRaw<Row[]>`
    SELECT o.id, o.club_id AS "clubId", o.account_id AS "accountId", o.valid_from AS "validFrom",
           o.region IS NULL AND o.taxon_id IS NULL AND o.valid_from <= ${tx.today}::date AS registrar
    FROM office o
    WHERE o.account_id = ANY(${ids}::uuid[]) AND (o.valid_to IS NULL OR o.valid_to > ${tx.today}::date)
      AND (${only}::uuid IS NULL OR o.club_id = ${only}::uuid)
      AND NOT EXISTS (SELECT FROM keeper_member m JOIN club_member c ON c.keeper_id = m.keeper_id AND c.left_on IS NULL
                      WHERE m.account_id = o.account_id AND m.ended_at IS NULL AND m.role <> 'guardian' AND c.club_id = o.club_id)
    ORDER BY o.id`;
  for (const office of over) {
    await tx.db.$executeRaw`
      UPDATE office SET valid_to = greatest(valid_from, ${tx.today}::date) WHERE id = ${office.id}::uuid`;
    const on = office.validFrom.toISOString().slice(0, 10);
    await tx.ledger.append(officeEnded, {
      subjects: [office.id, office.clubId, office.accountId],
      body: {
        officeId: office.id,
        clubId: office.clubId,
        accountId: office.accountId,
        on: on > tx.today ? on : tx.today,
      },
    });
  }
  for (const clubId of new Set(over.filter(({ registrar }) => registrar).map((office) => office.clubId))) {
    const [left] = await tx.db.$queryRaw<{ count: number }[]>`
      SELECT count(*)::int AS count FROM office WHERE club_id = ${clubId}::uuid AND region IS NULL AND taxon_id IS NULL
        AND valid_from <= ${tx.today}::date AND (valid_to IS NULL OR valid_to > ${tx.today}::date)`;
    if (left?.count === 0)
      return refuse('LAST_REGISTRAR', 'This is the last registrar of the club. Hand the office over first.');
  }
  return decide(null);
}
