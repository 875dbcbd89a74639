import { v7 as uuid } from 'uuid';
import { Injectable } from '@nestjs/common';
import { toDateColumn } from '../../access/index.js';
import { addDays, type Day, formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { REPLY_DAYS } from '../core/whereabouts.core.js';

/** As whom a viewer reads a report. */
export type TheftSide = 'reporter' | 'respondent' | 'coordinator';

/** A report as a viewer reads it. Nobody is named; the reference of the police is its reporter's alone. */
export type TheftReportView = {
  readonly id: string;
  readonly side: TheftSide;
  readonly registerNumber: string;
  readonly policeInformed: boolean;
  readonly policeReference: string | null;
  readonly statement: string | null;
  readonly reportedAt: Date;
  readonly reply: string | null;
  readonly repliedAt: Date | null;
  readonly closedAt: Date | null;
};

type Row = {
  id: string;
  rank: number;
  register_number: string;
  police_informed: boolean;
  police_reference: string | null;
  statement: string | null;
  reported_at: Date;
  reply: string | null;
  replied_at: Date | null;
  closed_at: Date | null;
};

const SIDES: readonly TheftSide[] = ['reporter', 'respondent', 'coordinator'];

/** Reads reports of theft for those who may. */
@Injectable()
export class TheftReportStore {
  constructor(private readonly database: Database) {}

  /**
   * The reports a viewer may read, newest first, with one more than asked where there is one: those an own keeper made, those
   * it may answer, and for a coordinator those of keepers of the club in their region and of their taxon.
   */
  async page(
    viewer: Viewer,
    first: number,
    after: { readonly at: Date; readonly id: string } | null,
    id: string | null = null,
  ): Promise<TheftReportView[]> {
    const own = viewer.keepers.map((keeper) => keeper.keeperId);
    const offices = viewer.offices.filter(({ region, taxonId }) => region !== null || taxonId !== null);
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT * FROM (
        SELECT t.id, a.register_number, t.police_informed, t.police_reference, t.statement, t.reported_at,
               t.reply, t.replied_at, t.closed_at,
               CASE WHEN t.keeper_id = ANY(${own}::uuid[]) THEN 0
                    WHEN t.respondent_id = ANY(${own}::uuid[]) THEN 1
                    WHEN EXISTS (
                      SELECT 1 FROM jsonb_to_recordset(${JSON.stringify(offices)}::jsonb)
                        AS o("clubId" uuid, region text, "taxonId" uuid)
                      JOIN club_member m ON m.club_id = o."clubId" AND m.keeper_id = t.keeper_id AND m.left_on IS NULL
                      JOIN keeper k ON k.id = t.keeper_id
                      WHERE (o.region IS NULL OR o.region = k.region) AND (o."taxonId" IS NULL OR o."taxonId" = a.taxon_id)
                    ) THEN 2 END AS rank
        FROM theft_report t JOIN animal a ON a.id = t.animal_id
        WHERE (${id}::uuid IS NULL OR t.id = ${id}::uuid)
      ) r
      WHERE r.rank IS NOT NULL
        AND (${after === null} OR (r.reported_at, r.id) < (${after?.at ?? null}::timestamptz, ${after?.id ?? null}::uuid))
      ORDER BY r.reported_at DESC, r.id DESC LIMIT ${first + 1}`;
    return rows.map(toView);
  }
}

function toView(row: Row): TheftReportView {
  const side = SIDES[row.rank];
  if (side === undefined) throw new RangeError(`Not a side of a report: ${row.rank}`);
  return {
    id: row.id,
    side,
    registerNumber: formatRegisterNumber(row.register_number as RegisterNumber),
    policeInformed: row.police_informed,
    policeReference: side === 'reporter' ? row.police_reference : null,
    statement: row.statement,
    reportedAt: row.reported_at,
    reply: row.reply,
    repliedAt: row.replied_at,
    closedAt: row.closed_at,
  };
}

/** What an owner states of a theft. */
export type Theft = {
  readonly animalId: string;
  readonly keeperId: string;
  readonly policeInformed: boolean;
  readonly policeReference: string | null;
  readonly statement: string | null;
};

/** Who may reply: the keeper, other than the owner, who has the locked animal, or gave it away not long before the day. */
export async function findRespondent(tx: Tx, animalId: string, ownerId: string, on: Day): Promise<string | null> {
  const stay = await tx.db.custody.findFirst({
    where: {
      animalId,
      supersededAt: null,
      keeperId: { not: ownerId },
      OR: [{ validTo: null }, { validTo: { gte: toDateColumn(addDays(on, -REPLY_DAYS)) } }],
    },
    orderBy: [{ validTo: { sort: 'desc', nulls: 'first' } }, { id: 'desc' }],
    select: { keeperId: true },
  });
  return stay?.keeperId ?? null;
}

/** Writes a report. Gives its id. */
export async function insertTheft(tx: Tx, theft: Theft, respondentId: string | null): Promise<string> {
  const id = uuid();
  await tx.db.theftReport.create({ data: { id, ...theft, respondentId, reportedAt: tx.now } });
  return id;
}

/** Closes the open report of a locked animal: it was found, or is not said to be stolen any more. Gives its id, or null. */
export async function closeTheft(tx: Tx, animalId: string): Promise<string | null> {
  const open = await tx.db.theftReport.findFirst({ where: { animalId, closedAt: null }, select: { id: true } });
  if (open === null) return null;
  await tx.db.theftReport.update({ where: { id: open.id }, data: { closedAt: tx.now } });
  return open.id;
}
