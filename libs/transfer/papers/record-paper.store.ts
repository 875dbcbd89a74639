import { Injectable } from '@nestjs/common';
import { parseFactBody } from '../../animal/index.js';
import { findClutches, readEggStates } from '../../breeding/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type EggsNow } from './paper-page.core.js';

/** A printed paper as stored. `content` is checked by whoever reads it. */
export type StoredPaper = {
  readonly id: string;
  readonly checkCode: string;
  readonly issuedAt: Date;
  readonly content: unknown;
};

/** A candidate parent over the time its claim was in force. */
export type ParentOnRecord = {
  readonly childId: string;
  readonly role: 'sire' | 'dam';
  readonly parentId: string;
  readonly registerNumber: string;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
};

/** What the registry says of an animal now, as far as the public page of a paper compares it. */
export type RecordNow = {
  readonly scientificName: string;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly birthManner: 'hatched' | 'born' | 'metamorphosed' | 'unknown';
  readonly birthEdtf: string | null;
  readonly originClass: 'bred' | 'wild' | 'ranched' | 'unknown';
  readonly fate: string;
};

/** Printed papers, and the two reads that only they need. */
@Injectable()
export class RecordPaperStore {
  constructor(private readonly database: Database) {}

  /** An earlier paper of the transfer with exactly this content, so that printing twice is one paper. */
  findSame(transferId: string, contentHash: string): Promise<StoredPaper | null> {
    return this.database.client.recordPaper.findFirst({ where: { transferId, contentHash }, orderBy: { id: 'asc' } });
  }

  /** The paper with a check code, for anybody who holds it. */
  findByCheckCode(checkCode: string): Promise<StoredPaper | null> {
    return this.database.client.recordPaper.findUnique({ where: { checkCode } });
  }

  async insert(
    tx: Tx,
    paper: {
      id: string;
      transferId: string;
      checkCode: string;
      issuedBy: string;
      content: object;
      contentHash: string;
    },
  ): Promise<void> {
    await tx.db.recordPaper.create({ data: { ...paper, issuedAt: tx.now } });
  }

  /** Hash of a transfer's claim code while it can still be used; the caller has made sure the viewer is its giver. */
  async findClaimHash(transferId: string): Promise<string | null> {
    const row = await this.database.client.transfer.findFirst({
      where: { id: transferId, takenUpAt: null },
      select: { claimCodeHash: true },
    });
    return row?.claimCodeHash ?? null;
  }

  /** Every candidate parent ever claimed for each child. What of it a viewer may see is the caller's to decide. */
  async findParents(childIds: readonly string[]): Promise<ParentOnRecord[]> {
    const rows = await this.database.client.parentageClaim.findMany({
      where: { childId: { in: [...childIds] } },
      include: { candidates: { include: { parent: { select: { registerNumber: true } } } } },
      orderBy: { id: 'asc' },
    });
    return rows.flatMap((claim) =>
      claim.candidates.map(({ parentId, parent }) => ({
        childId: claim.childId,
        role: claim.role,
        parentId,
        registerNumber: parent.registerNumber,
        recordedAt: claim.recordedAt,
        supersededAt: claim.supersededAt,
      })),
    );
  }

  /**
   * What the registry says of the animals of a paper now, by id. Without a viewer: whoever holds the paper's code is told
   * whether it still agrees, never what it says instead.
   */
  async findNow(animalIds: readonly string[]): Promise<Map<string, RecordNow>> {
    const animals = await this.database.client.animal.findMany({
      where: { id: { in: [...animalIds] } },
      include: {
        taxon: { select: { scientificName: true } },
        facts: { where: { kind: 'birth', supersededAt: null }, orderBy: { recordedAt: 'desc' }, take: 1 },
      },
    });
    return new Map(
      animals.map((row) => [
        row.id,
        {
          scientificName: row.taxon.scientificName,
          sex: row.sex,
          birthManner: mannerOf(row.facts[0]),
          birthEdtf: row.birthEdtf,
          originClass: row.originClass,
          fate: row.fate,
        },
      ]),
    );
  }

  /** The same of eggs, by the first version of their clutch; one that was taken back is left out. */
  async findEggsNow(
    papers: readonly { readonly clutchId: string; readonly eggs: readonly { readonly number: number }[] }[],
  ): Promise<Map<string, EggsNow>> {
    if (papers.length === 0) return new Map();
    const ids = papers.map(({ clutchId }) => clutchId);
    const clutches = await findClutches(this.database.client, ids);
    const taxa = await this.database.client.animal.findMany({
      where: { id: { in: [...clutches.values()].flatMap(({ dams }) => dams.map((dam) => dam.id)) } },
      select: { id: true, taxon: { select: { scientificName: true } } },
    });
    const names = new Map(taxa.map(({ id, taxon }) => [id, taxon.scientificName]));
    const eggs = await readEggStates(this.database.client, ids);
    return new Map(
      papers.flatMap(({ clutchId, eggs: onPaper }) => {
        const clutch = clutches.get(clutchId);
        if (clutch === undefined) return [];
        const states = onPaper.map(({ number }) => eggs.get(clutchId)?.get(number) ?? 'laid');
        const now: EggsNow = {
          scientificName: names.get(clutch.dams[0]?.id ?? '') ?? '',
          laidEdtf: clutch.laid?.edtf ?? null,
          hatched: states.filter((state) => state === 'hatched').length,
          cameToNothing: states.filter((state) => state === 'failed' || state === 'infertile').length,
        };
        return [[clutchId, now] as const];
      }),
    );
  }
}

function mannerOf(fact: { kind: string; body: unknown } | undefined): RecordNow['birthManner'] {
  const read = fact === undefined ? null : parseFactBody(fact.kind, fact.body);
  return read?.kind === 'birth' ? read.body.manner : 'unknown';
}
