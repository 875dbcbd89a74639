import { Injectable } from '@nestjs/common';
import {
  AnimalReadStore,
  type AnimalView,
  currentMarks,
  type Fact,
  type FactKind,
  inForce,
  type Mark,
} from '../../animal/index.js';
import { formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { type Taxon, TaxonStore } from '../../taxon/index.js';
import { NOT_SHOWN, PAPER_VERSION, type PaperAnimal, type PaperContent } from '../core/record-paper.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { type ParentOnRecord, RecordPaperStore } from '../store/record-paper.store.js';

/** Puts together what a paper says, as far as the viewer reads the animals: a giver's late reprint shows nothing newer. */
@Injectable()
export class PaperContents {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly papers: RecordPaperStore,
  ) {}

  /** The content for the animals of a transfer whose record the viewer reads; those that went elsewhere are left out. */
  async read(viewer: Viewer, transfer: Transfer, showsGiver: boolean): Promise<PaperContent> {
    const ids = transfer.items.map((item) => item.animalId);
    const views = await this.animals.findVisible(viewer, ids);
    const shown = ids.flatMap((id) => views.get(id) ?? []).filter((view) => view.record !== null);
    const shownIds = shown.map((view) => view.id);
    const [facts, marks, parents, taxa] = [
      await this.animals.findFacts(shownIds),
      await this.animals.findMarks(shownIds),
      await this.papers.findParents(shownIds),
      await this.taxa.findMany(shown.map((view) => view.taxonId)),
    ];
    const visibleParents = await this.animals.findVisible(viewer, [
      ...new Set(parents.map((parent) => parent.parentId)),
    ]);
    const animals = shown.map((view) =>
      toPaperAnimal(view, transfer, {
        taxon: taxa.get(view.taxonId),
        facts: inForce(facts.get(view.id) ?? [], view.readsUntil),
        marks: currentMarks(marks.get(view.id) ?? [], view.readsUntil),
        parents: parents
          .filter((parent) => parent.childId === view.id && wasInForce(parent, view.readsUntil))
          .map((parent) => ({ ...parent, shown: visibleParents.has(parent.parentId) })),
      }),
    );
    return { version: PAPER_VERSION, showsGiver, animals };
  }
}

function wasInForce(claim: ParentOnRecord, at: Date | null): boolean {
  if (at === null) return claim.supersededAt === null;
  return claim.recordedAt <= at && (claim.supersededAt === null || claim.supersededAt > at);
}

type Sources = {
  readonly taxon: Taxon | undefined;
  readonly facts: readonly Fact[];
  readonly marks: readonly Mark[];
  readonly parents: readonly (ParentOnRecord & { readonly shown: boolean })[];
};

function toPaperAnimal(view: AnimalView, transfer: Transfer, { taxon, facts, marks, parents }: Sources): PaperAnimal {
  const last = <K extends FactKind>(kind: K): Extract<Fact, { kind: K }> | undefined =>
    facts.findLast((fact): fact is Extract<Fact, { kind: K }> => fact.kind === kind);
  const numbers = (role: 'sire' | 'dam'): string[] =>
    parents
      .filter((parent) => parent.role === role)
      .map((parent) => (parent.shown ? formatRegisterNumber(parent.registerNumber as RegisterNumber) : NOT_SHOWN));
  const sex = last('sex')?.body;
  const weight = last('weight');
  return {
    animalId: view.id,
    registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
    kind: view.kind,
    scientificName: taxon?.scientificName ?? '',
    commonName: taxon?.commonName ?? '',
    sex: view.sex,
    sexMethod: sex?.method ?? null,
    sexConfidence: sex?.confidence ?? null,
    birthManner: last('birth')?.body.manner ?? 'unknown',
    birthEdtf: view.record?.birth?.edtf ?? null,
    sires: numbers('sire'),
    dams: numbers('dam'),
    originClass: view.originClass,
    originClaimedBy: claimantOf(last('origin')?.keeperId, transfer),
    marks: marks.map(({ kind, value }) => ({ kind, value })),
    lastWeight: weight === undefined ? null : { grams: weight.body.grams, on: weight.when?.edtf ?? null },
    count: view.record?.count ?? 0,
    countEstimated: view.record?.countEstimated ?? false,
  };
}

function claimantOf(
  keeperId: string | undefined,
  { fromKeeperId, receiver }: Transfer,
): PaperAnimal['originClaimedBy'] {
  if (keeperId === undefined) return 'nobody';
  if (keeperId === fromKeeperId) return 'giver';
  return receiver.kind === 'keeper' && keeperId === receiver.keeperId ? 'receiver' : 'earlier_keeper';
}
