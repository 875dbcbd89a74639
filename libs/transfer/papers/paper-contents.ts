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
import { keyOf, ReadBreeders, ReadPaperEggs, type ToldBreeder } from '../../breeding/index.js';
import { formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { type Taxon, TaxonStore } from '../../taxon/index.js';
import { NOT_SHOWN, PAPER_VERSION, type PaperAnimal, type PaperContent, type PaperEggs } from './record-paper.core.js';
import { landsWithReceiver } from '../eggs/transfer-eggs.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { type ParentOnRecord, RecordPaperStore } from './record-paper.store.js';

/** Puts together what a paper says, as far as the viewer reads the animals: a giver's late reprint shows nothing newer. */
@Injectable()
export class PaperContents {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly papers: RecordPaperStore,
    private readonly eggs: ReadPaperEggs,
    private readonly breeders: ReadBreeders,
  ) {}

  /** The content for the animals and eggs of a transfer whose record the viewer reads; those that went elsewhere are left out. */
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
    const breeders = await this.breeders.ofYoung(viewer, shown);
    const visibleParents = await this.animals.findVisible(viewer, [
      ...new Set(parents.map((parent) => parent.parentId)),
    ]);
    const animals = shown.map((view) =>
      toPaperAnimal(view, transfer, {
        taxon: taxa.get(view.taxonId),
        breeders: breeders.get(view.id) ?? null,
        facts: inForce(facts.get(view.id) ?? [], view.readsUntil),
        marks: currentMarks(marks.get(view.id) ?? [], view.readsUntil),
        parents: parents
          .filter((parent) => parent.childId === view.id && wasInForce(parent, view.readsUntil))
          .map((parent) => ({ ...parent, shown: visibleParents.has(parent.parentId) })),
      }),
    );
    const eggs = await this.eggsOf(viewer, transfer);
    return { version: PAPER_VERSION, showsGiver, animals, ...(eggs.length > 0 ? { eggs } : {}) };
  }

  /** The eggs that go along, or arrived, by clutch: none that has hatched or come to nothing by what the viewer reads. */
  private async eggsOf(viewer: Viewer, transfer: Transfer): Promise<PaperEggs[]> {
    const along = transfer.eggs.filter(({ arrival, notSent }) => !notSent && landsWithReceiver(arrival));
    const clutchIds = [...new Set(along.map(({ clutchId }) => clutchId))];
    const records = await this.eggs.execute(viewer, clutchIds);
    const shown = clutchIds.flatMap((id) => records.get(id) ?? []);
    const taxa = await this.taxa.findMany(shown.flatMap(({ taxonId }) => taxonId ?? []));
    const parents = await this.animals.findVisible(viewer, [
      ...new Set(shown.flatMap(({ clutch, sireIds }) => [...sireIds, ...clutch.dams.map((dam) => dam.id)])),
    ]);
    const numbers = (ids: readonly string[]): string[] =>
      ids
        .map((id) => parents.get(id)?.registerNumber)
        .map((number) => (number === undefined ? NOT_SHOWN : formatRegisterNumber(number as RegisterNumber)));
    return shown.flatMap((record): PaperEggs[] => {
      const { clutch, taxonId } = record;
      const eggs = record.eggs.filter(({ id, over }) => !over && along.some(({ eggId }) => eggId === id));
      const celsius = eggs.flatMap((egg) => egg.celsius);
      const taxon = taxa.get(taxonId ?? '');
      if (eggs.length === 0) return [];
      return [
        {
          clutchId: clutch.originalId,
          scientificName: taxon?.scientificName ?? '',
          commonName: taxon?.commonName ?? '',
          laidEdtf: clutch.laid?.edtf ?? null,
          clutchSize: clutch.eggCount,
          eggs: eggs.map(({ number, topMarked, incubatedFrom }) => ({ number, topMarked, incubatedFrom })),
          celsius: celsius.length === 0 ? null : { lowest: Math.min(...celsius), highest: Math.max(...celsius) },
          sires: numbers(record.sireIds),
          dams: numbers(clutch.dams.map((dam) => dam.id)),
          ...bredByOf(record.breeders, transfer),
        },
      ];
    });
  }
}

function wasInForce(claim: ParentOnRecord, at: Date | null): boolean {
  if (at === null) return claim.supersededAt === null;
  return claim.recordedAt <= at && (claim.supersededAt === null || claim.supersededAt > at);
}

type Sources = {
  readonly breeders: readonly ToldBreeder[] | null;
  readonly taxon: Taxon | undefined;
  readonly facts: readonly Fact[];
  readonly marks: readonly Mark[];
  readonly parents: readonly (ParentOnRecord & { readonly shown: boolean })[];
};

function toPaperAnimal(
  view: AnimalView,
  transfer: Transfer,
  { breeders, taxon, facts, marks, parents }: Sources,
): PaperAnimal {
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
    ...bredByOf(breeders, transfer),
  };
}

/** Who bred it as a paper says it: in a role, and nothing where the one who prints is told nothing. */
function bredByOf(
  breeders: readonly ToldBreeder[] | null,
  { fromKeeperId, receiver }: Transfer,
): Pick<PaperAnimal, 'bredBy'> {
  if (breeders === null) return {};
  const receiverId = receiver.kind === 'keeper' ? receiver.keeperId : receiver.outsidePartyId;
  return {
    bredBy: breeders.map(({ named, sure, why }) => {
      const key = keyOf(named);
      const who =
        key === fromKeeperId
          ? 'giver'
          : key === receiverId
            ? 'receiver'
            : why.includes('owner_unknown')
              ? 'not_known'
              : 'somebody_else';
      return { who, sure };
    }),
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
