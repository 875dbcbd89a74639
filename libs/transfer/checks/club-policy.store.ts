import { Injectable } from '@nestjs/common';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type CheckEffect, DEFAULT_POLICY, POLICY_CHECKS, type PolicyCheck } from './send-checks.core.js';

/** What a check does in a club, and whether the club says so or it is the default. */
export type PolicyLine = { readonly check: PolicyCheck; readonly effect: CheckEffect; readonly saidByClub: boolean };

/** Reads what a club says of the checks before sending. */
@Injectable()
export class ClubPolicyStore {
  constructor(private readonly database: Database) {}

  /** One line a check. The caller has made sure that the viewer belongs to the club. */
  async read(clubId: string): Promise<PolicyLine[]> {
    const rows = await this.database.client.clubPolicy.findMany({ where: { clubId } });
    return POLICY_CHECKS.map((check) => {
      const said = rows.find((row) => row.check === check)?.effect;
      return { check, effect: said ?? DEFAULT_POLICY[check], saidByClub: said !== undefined };
    });
  }
}

/** Writes a club's word on a check, or takes it back (null). */
export async function writeClubPolicy(
  tx: Tx,
  { clubId, check, effect }: { clubId: string; check: PolicyCheck; effect: CheckEffect | null },
): Promise<void> {
  if (effect === null) {
    await tx.db.clubPolicy.deleteMany({ where: { clubId, check } });
    return;
  }
  const where = { clubId_check: { clubId, check } };
  await tx.db.clubPolicy.upsert({ where, create: { clubId, check, effect }, update: { effect } });
}
