import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Db } from '../../platform/prisma/index.js';
import { parseTaxonProfile } from '../../taxon/index.js';
import { type CheckEffect, DEFAULT_POLICY, type SendFacts, type SendPolicy } from './send-checks.core.js';
import { type Transfer } from '../core/transfer.core.js';

type Row = {
  id: string;
  profile: unknown;
  birth_latest: Date | null;
  in_quarantine: boolean;
  loan: SendFacts['loan'];
  reported: SendFacts['reported'];
  disputed: boolean;
  last_grams: number | null;
  document_kinds: string[];
};

/**
 * What the checks before sending look at, for every animal of a transfer: read under lock where it decides. An animal counts
 * as in quarantine while its group's days, from the latest entry that restarts its clock on, are not over (quarantine.core.ts).
 */
export async function readSendFacts(db: Pick<Db, '$queryRaw'>, transfer: Transfer, on: Day): Promise<SendFacts[]> {
  const day = toDateColumn(on);
  const ids = transfer.items.map(({ animalId }) => animalId);
  const rows = await db.$queryRaw<Row[]>`
    SELECT a.id, t.profile, a.birth_latest,
      EXISTS (SELECT 1 FROM quarantine_entry e JOIN quarantine_group g ON g.id = e.group_id
        WHERE e.animal_id = a.id AND e.left_on IS NULL AND g.keeper_id = ${transfer.fromKeeperId}::uuid
          AND (SELECT max(x.entered_on) FROM quarantine_entry x
            JOIN animal xa ON xa.id = x.animal_id JOIN taxon xt ON xt.id = xa.taxon_id
            WHERE x.group_id = g.id AND CASE g.restart_scope WHEN 'order' THEN xt.order_name = t.order_name
              WHEN 'class' THEN xt.class_name = t.class_name ELSE true END) + g.days > ${day}::date
      ) AS in_quarantine,
      CASE WHEN c.keeper_id = ${transfer.fromKeeperId}::uuid AND NOT own.giver THEN 'borrowed'
           WHEN c.keeper_id <> ${transfer.fromKeeperId}::uuid AND own.giver THEN 'lent' END AS loan,
      CASE WHEN a.fate = 'stolen' OR EXISTS (SELECT 1 FROM theft_report r WHERE r.animal_id = a.id AND r.closed_at IS NULL)
           THEN 'stolen' WHEN a.fate = 'missing' THEN 'missing' END AS reported,
      coalesce(o.state = 'disputed', false) AS disputed,
      (SELECT (f.body ->> 'grams')::float8 FROM animal_fact f
        WHERE f.animal_id = a.id AND f.kind = 'weight' AND f.superseded_at IS NULL
        ORDER BY f.latest DESC NULLS LAST, f.id DESC LIMIT 1) AS last_grams,
      ARRAY(SELECT DISTINCT d.kind::text FROM holding_document d JOIN document_cover c ON c.document_id = d.id
        WHERE d.keeper_id = ${transfer.fromKeeperId}::uuid AND d.superseded_at IS NULL
          AND (d.valid_from IS NULL OR d.valid_from <= ${day}::date)
          AND (d.valid_until IS NULL OR d.valid_until >= ${day}::date)
          AND (c.animal_id = a.id OR (c.animal_id IS NULL AND (c.taxon_id IS NULL OR c.taxon_id = a.taxon_id)))
      ) AS document_kinds
    FROM animal a JOIN taxon t ON t.id = a.taxon_id
    LEFT JOIN custody c ON c.animal_id = a.id AND c.superseded_at IS NULL AND c.valid_to IS NULL
    LEFT JOIN ownership o ON o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL
    CROSS JOIN LATERAL (SELECT EXISTS (SELECT 1 FROM ownership_share s WHERE s.ownership_id = o.id
      AND s.keeper_id = ${transfer.fromKeeperId}::uuid) AS giver) own
    WHERE a.id = ANY(${ids}::uuid[]) ORDER BY a.id`;
  return rows.map((row) => {
    const { appendix, handOverMinimum } = parseTaxonProfile(row.profile);
    return {
      animalId: row.id,
      appendix: appendix?.value ?? null,
      documentKinds: row.document_kinds,
      inQuarantine: row.in_quarantine,
      loan: row.loan,
      reported: row.reported,
      disputed: row.disputed,
      bornAt: { latest: fromDateColumnOrNull(row.birth_latest) },
      lastGrams: row.last_grams,
      minimum: handOverMinimum ?? null,
    };
  });
}

/** What the clubs that both parties belong to now say of the checks, the stricter where they differ; else the defaults. */
export async function readSendPolicy(db: Pick<Db, '$queryRaw'>, transfer: Transfer): Promise<SendPolicy> {
  const { receiver, fromKeeperId } = transfer;
  if (receiver.kind !== 'keeper') return DEFAULT_POLICY;
  const rows = await db.$queryRaw<{ check: keyof SendPolicy; effect: CheckEffect }[]>`
    SELECT p."check"::text AS "check", max(p.effect)::text AS effect
    FROM club_policy p
    JOIN club_member g ON g.club_id = p.club_id AND g.keeper_id = ${fromKeeperId}::uuid AND g.left_on IS NULL
    JOIN club_member r ON r.club_id = p.club_id AND r.keeper_id = ${receiver.keeperId}::uuid AND r.left_on IS NULL
    GROUP BY p."check"`;
  return { ...DEFAULT_POLICY, ...Object.fromEntries(rows.map(({ check, effect }) => [check, effect])) };
}
