import { Injectable } from '@nestjs/common';
import { findClutchesInHand } from '../../breeding/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findOpenLoans, findOpenPicks } from '../../transfer/index.js';
import { type Column } from './columns/column.core.js';
import { FORGET_COLUMNS } from './columns/forget-columns.core.js';
import { FORGOTTEN_ADDRESS, type Unsettled } from './forget.core.js';
import { DELETIONS, REPLACEMENTS, rowsOf, WHOM } from './forget-rows.store.js';

/** Whose traces go. */
export type Whom = {
  readonly accountId: string;
  readonly email: string;
  /** Keepers that lose their last owner with the account. */
  readonly keeperIds: readonly string[];
  /** A hash that no password fits. */
  readonly noPassword: string;
  readonly idempotencyKey: string | null;
};

/** Named at most in a refusal: more are settled in several rounds. */
const MOST = 100;

/** Reads what stands in the way of forgetting a person, and forgets it. */
@Injectable()
export class ForgetStore {
  /** The account, locked; null once it has been forgotten. */
  async lockAccount(tx: Tx, accountId: string): Promise<{ email: string; passwordHash: string } | null> {
    const [row] = await tx.db.$queryRaw<{ email: string; passwordHash: string }[]>`
      SELECT email, password_hash AS "passwordHash" FROM account WHERE id = ${accountId}::uuid FOR UPDATE`;
    return row === undefined || row.email.startsWith(FORGOTTEN_ADDRESS) ? null : row;
  }

  /** The keepers that would lose their last owner, locked in id order against new rows and other changes of who owns them. */
  async lockSoleKeepers(tx: Tx, accountId: string): Promise<string[]> {
    await tx.db.$queryRaw`
      SELECT k.id FROM keeper k JOIN keeper_member m ON m.keeper_id = k.id
      WHERE m.account_id = ${accountId}::uuid AND m.ended_at IS NULL ORDER BY k.id FOR UPDATE OF k`;
    const rows = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT m.keeper_id AS id FROM keeper_member m
      WHERE m.account_id = ${accountId}::uuid AND m.ended_at IS NULL AND m.role = 'owner' AND NOT EXISTS (
        SELECT FROM keeper_member o WHERE o.keeper_id = m.keeper_id AND o.ended_at IS NULL AND o.role = 'owner'
          AND o.account_id <> m.account_id)
      ORDER BY m.keeper_id`;
    return rows.map(({ id }) => id);
  }

  /** What others depend on. Clubs are locked: of two registrars who go at once one is the last. */
  async findUnsettled(tx: Tx, accountId: string, keeperIds: readonly string[]): Promise<Unsettled> {
    const keepers = [...keeperIds];
    const ids = (rows: { id: string }[]): string[] => rows.map(({ id }) => id);
    const animals = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT DISTINCT animal_id AS id FROM custody
      WHERE keeper_id = ANY(${keepers}::uuid[]) AND superseded_at IS NULL AND valid_to IS NULL
      ORDER BY 1 LIMIT ${MOST}`;
    const transfers = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT id FROM transfer
      WHERE (from_keeper_id = ANY(${keepers}::uuid[]) OR to_keeper_id = ANY(${keepers}::uuid[]))
        AND (state IN ('offered', 'accepted', 'sent')
          OR (state = 'received' AND title::text = 'when_paid' AND paid_up_on IS NULL))
      ORDER BY id LIMIT ${MOST}`;
    const owned = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT DISTINCT o.animal_id AS id FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
      JOIN custody c ON c.animal_id = o.animal_id AND c.superseded_at IS NULL AND c.valid_to IS NULL
      WHERE s.keeper_id = ANY(${keepers}::uuid[]) AND o.superseded_at IS NULL AND o.valid_to IS NULL
        AND c.keeper_id IS NOT NULL AND NOT c.keeper_id = ANY(${keepers}::uuid[])
      ORDER BY 1 LIMIT ${MOST}`;
    const claims = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT c.id FROM ownership_claim c
      WHERE c.ended_at IS NULL AND (c.claimant_id = ANY(${keepers}::uuid[]) OR EXISTS (
        SELECT FROM ownership_claim_party p WHERE p.claim_id = c.id AND p.keeper_id = ANY(${keepers}::uuid[])))
      ORDER BY c.id LIMIT ${MOST}`;
    const wards = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT k.id FROM keeper k JOIN keeper_member m ON m.keeper_id = k.id AND m.ended_at IS NULL
      WHERE m.account_id = ${accountId}::uuid AND m.role::text = 'guardian' AND k.minor_until > ${tx.today}::date
        AND NOT EXISTS (SELECT FROM keeper_member o WHERE o.keeper_id = k.id AND o.ended_at IS NULL
          AND o.role::text = 'guardian' AND o.account_id <> m.account_id)
      ORDER BY k.id`;
    await tx.db.$queryRaw`
      SELECT id FROM club WHERE id IN (SELECT club_id FROM office WHERE account_id = ${accountId}::uuid)
      ORDER BY id FOR NO KEY UPDATE`;
    const clubs = await tx.db.$queryRaw<{ id: string }[]>`
      WITH registrar AS (
        SELECT club_id, account_id FROM office
        WHERE region IS NULL AND taxon_id IS NULL AND valid_from <= ${tx.today}::date
          AND (valid_to IS NULL OR valid_to > ${tx.today}::date))
      SELECT DISTINCT r.club_id AS id FROM registrar r
      WHERE r.account_id = ${accountId}::uuid
        AND NOT EXISTS (SELECT FROM registrar o WHERE o.club_id = r.club_id AND o.account_id <> r.account_id)
        AND EXISTS (
          SELECT FROM club_member c JOIN keeper_member m ON m.keeper_id = c.keeper_id AND m.ended_at IS NULL
          WHERE c.club_id = r.club_id AND c.left_on IS NULL AND m.account_id <> r.account_id
            AND NOT c.keeper_id = ANY(${keepers}::uuid[]))
      ORDER BY 1`;
    return {
      animals: ids(animals),
      clutches: (await findClutchesInHand(tx.db, keepers)).slice(0, MOST),
      owned: ids(owned),
      transfers: ids(transfers),
      loans: (await findOpenLoans(tx.db, keepers)).slice(0, MOST),
      picks: (await findOpenPicks(tx, keepers)).slice(0, MOST),
      claims: ids(claims),
      wards: ids(wards),
      clubs: ids(clubs),
    };
  }

  /** The files whose bytes nothing may refer to any more afterwards: their hashes. */
  async findFiles(tx: Tx, whom: Whom): Promise<string[]> {
    const rows = await tx.db.$queryRawUnsafe<{ sha256: string }[]>(
      `${WHOM}
       SELECT DISTINCT unnest(ARRAY[t.original_sha256, t.shared_sha256, t.thumb_sha256]) AS sha256 FROM animal_file t
       WHERE ${rowsOf('animal_file', 'keeper')}
       UNION SELECT t.sha256 FROM document_file t WHERE ${rowsOf('document_file', 'unneeded')}`,
      ...(await parametersOf(tx, whom)),
    );
    return rows.flatMap(({ sha256 }) => sha256 ?? []);
  }

  /** Takes every trace out, column by column as FORGET_COLUMNS says. */
  async forget(tx: Tx, whom: Whom): Promise<void> {
    const parameters = await parametersOf(tx, whom);
    const run = (statement: string) => tx.db.$executeRawUnsafe(`${WHOM} ${statement}`, ...parameters);
    for (const statement of FORGET_STATEMENTS) await run(statement);
  }

  /** Ends what the account did for keepers, and what those that are forgotten had with others. Gives who acted for them. */
  async endTies(tx: Tx, { accountId, keeperIds }: Whom): Promise<string[]> {
    const keepers = [...keeperIds];
    const people = await tx.db.keeperMember.findMany({
      where: { OR: [{ accountId }, { keeperId: { in: keepers } }], endedAt: null },
      select: { accountId: true },
    });
    await tx.db.keeperMember.updateMany({
      where: { OR: [{ accountId }, { keeperId: { in: keepers } }], endedAt: null },
      data: { endedAt: tx.now },
    });
    await tx.db.$executeRaw`
      UPDATE office SET valid_to = greatest(valid_from, ${tx.today}::date)
      WHERE account_id = ${accountId}::uuid AND (valid_to IS NULL OR valid_to > ${tx.today}::date)`;
    await tx.db.$executeRaw`
      UPDATE club_member SET left_on = greatest(joined_on, ${tx.today}::date)
      WHERE keeper_id = ANY(${keepers}::uuid[]) AND left_on IS NULL`;
    await tx.db.$executeRaw`
      WITH ended AS (
        UPDATE reading_grant r SET ended_at = ${tx.now} FROM animal_access a
        WHERE a.id = r.access_id AND r.ended_at IS NULL AND a.valid_to > ${tx.today}::date
          AND (r.granted_by = ANY(${keepers}::uuid[]) OR a.keeper_id = ANY(${keepers}::uuid[]))
        RETURNING r.access_id)
      UPDATE animal_access a SET valid_to = greatest(a.valid_from, ${tx.today}::date)
      FROM ended e WHERE a.id = e.access_id`;
    await tx.db.$executeRaw`UPDATE keeper SET forgotten_at = ${tx.now} WHERE id = ANY(${keepers}::uuid[])`;
    await tx.db.$executeRaw`
      UPDATE keeper SET holdings_shown = 'nobody' WHERE id = ANY(${keepers}::uuid[]) AND holdings_shown <> 'nobody'`;
    await tx.db.$executeRaw`
      UPDATE ask_thread SET closed_at = ${tx.now},
        closed_by = (CASE WHEN asker_keeper_id = ANY(${keepers}::uuid[]) THEN 'asker' ELSE 'holder' END)::thread_side
      WHERE closed_at IS NULL
        AND (asker_keeper_id = ANY(${keepers}::uuid[]) OR holder_keeper_id = ANY(${keepers}::uuid[]))`;
    return [...new Set(people.map((member) => member.accountId))].filter((id) => id !== accountId).sort();
  }
}

/** One statement a table and set of rows, in the order in which they can be done: what is read by others goes last. */
const FORGET_STATEMENTS: readonly string[] = [
  ...Object.entries(FORGET_COLUMNS).flatMap(([table, columns]) => updatesOf(table, columns)),
  ...DELETIONS.map(([table, rows]) => `DELETE FROM "${table}" t WHERE ${rowsOf(table, rows)}`),
];

function updatesOf(table: string, columns: Readonly<Record<string, Column>>): string[] {
  const changes = new Map<string, string[]>();
  for (const [name, column] of Object.entries(columns)) {
    if (column.act !== 'clear' && column.act !== 'replace') continue;
    const value = column.act === 'clear' ? 'NULL' : REPLACEMENTS[column.by](name);
    const where = rowsOf(table, column.rows);
    changes.set(where, [...(changes.get(where) ?? []), `"${name}" = ${value}`]);
  }
  return [...changes].map(([where, sets]) => `UPDATE "${table}" t SET ${sets.join(', ')} WHERE ${where}`);
}

/** The parameters of WHOM. */
async function parametersOf(tx: Tx, whom: Whom): Promise<unknown[]> {
  const { accountId, email, noPassword, idempotencyKey } = whom;
  const keepers = [...whom.keeperIds];
  const people = await tx.db.$queryRaw<{ id: string; only: boolean }[]>`
    SELECT m.account_id AS id, bool_and(m.keeper_id = ANY(${keepers}::uuid[])) AS only FROM keeper_member m
    WHERE m.account_id IN (SELECT account_id FROM keeper_member WHERE keeper_id = ANY(${keepers}::uuid[]))
    GROUP BY m.account_id`;
  const only = people.filter((person) => person.only).map(({ id }) => id);
  return [accountId, keepers, people.map(({ id }) => id), only, email, noPassword, tx.now, idempotencyKey];
}
