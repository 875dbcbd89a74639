import { Injectable } from '@nestjs/common';
import { type AnimalFileView, AnimalReadStore, type AnimalView } from '../../animal/index.js';
import { type EggsOfClutch, ReadEggRecords } from '../../breeding/index.js';
import { type DocumentView } from '../../document/index.js';
import {
  type Day,
  day,
  dayOf,
  formatRegisterNumber,
  notFound,
  type RegisterNumber,
  ruleRefused,
  type Viewer,
} from '../../kernel/index.js';
import { ClaimReadStore } from '../../lineage/index.js';
import { type Line, type Taxon, TaxonStore } from '../../taxon/index.js';
import { type Transfer, TransferStore } from '../../transfer/index.js';
import { packClutches, packCounts, packMatings, packMerges } from './pack-breeding.js';
import { eggsWanted, packEggs, parentsOfEggs } from './pack-eggs.js';
import { packFacts, packMarks } from './pack-facts.js';
import { packCustody, packDocuments, packOwnership, packPictures, packQuarantines } from './pack-keeping.js';
import { PackKin } from './pack-kin.js';
import { type Until } from './pack-moment.js';
import { PackSources } from './pack-sources.js';
import { PACK_FORM, type PackAnimal, type RecordPack, recordPack } from './record-pack.schema.js';
import { RecordPackStore } from './record-pack.store.js';

/** States in which nothing goes, or went, with the transfer. */
const NOTHING_GOES = ['declined', 'withdrawn', 'expired', 'cancelled', 'failed'];

/** Who takes a record along. A guest reads it in its place, and lineage that is shared is no record. */
const TAKES_ALONG: ReadonlySet<AnimalView['level']> = new Set(['full', 'offered', 'past']);

type EggsOfTransfer = {
  readonly read: readonly EggsOfClutch[];
  readonly transfer: Pick<Transfer, 'eggs'>;
  readonly on: Day;
};
const NO_EGGS: EggsOfTransfer = { read: [], transfer: { eggs: [] }, on: day('1970-01-01') };

/** Puts the record of animals together as one reader may read it; a past holder's stands still at the hand-over. */
@Injectable()
export class ReadRecordPack {
  // eslint-disable-next-line max-params -- what a pack says comes from seven places, each asked once
  constructor(
    private readonly transfers: TransferStore,
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly claims: ClaimReadStore,
    private readonly sources: PackSources,
    private readonly eggs: ReadEggRecords,
    private readonly store: RecordPackStore,
  ) {}

  /** NOT_FOUND for whoever neither has, owns, had nor is offered the animal. */
  async ofAnimal(viewer: Viewer, animalId: string): Promise<RecordPack> {
    const views = await this.findRecords(viewer, [animalId]);
    if (views.length === 0) throw notFound('animal');
    return this.read(viewer, views);
  }

  /**
   * The animals of a transfer that the party still reads. NOT_FOUND for whoever is no party; RULE_REFUSED
   * TRANSFER_CAME_TO_NOTHING when it ended without a hand-over or the viewer reads none of the animals.
   */
  async ofTransfer(viewer: Viewer, transferId: string): Promise<RecordPack> {
    const { transfer } = await this.transfers.getVisible(viewer, transferId);
    const views = await this.findRecords(
      viewer,
      transfer.items.map((item) => item.animalId),
    );
    const arrived = transfer.eggs.flatMap(({ receivedOn }) => receivedOn ?? []).toSorted();
    const on = arrived.at(-1) ?? dayOf(transfer.offeredAt);
    const eggs = await this.eggs.execute(viewer, eggsWanted(transfer), on);
    if (NOTHING_GOES.includes(transfer.state) || (views.length === 0 && eggs.length === 0)) {
      const message = 'Neither animals nor eggs go with this transfer, so there is no record to take along.';
      throw ruleRefused({ rule: 'TRANSFER_CAME_TO_NOTHING', message });
    }
    return this.read(viewer, views, { read: eggs, transfer, on });
  }

  private async findRecords(viewer: Viewer, ids: readonly string[]): Promise<AnimalView[]> {
    const views = await this.animals.findVisible(viewer, ids);
    return ids.toSorted().flatMap((id) => {
      const view = views.get(id);
      return view !== undefined && TAKES_ALONG.has(view.level) ? [view] : [];
    });
  }

  private async read(
    viewer: Viewer,
    views: readonly AnimalView[],
    eggs: EggsOfTransfer = NO_EGGS,
  ): Promise<RecordPack> {
    const ids = views.map((view) => view.id);
    const kin = new PackKin(ids);
    // Of several animals that left at several moments the ancestry is the one of the first: nothing later is told.
    const ends = views.flatMap((view) => view.readsUntil?.getTime() ?? []);
    const evidence = new Set(views.filter(({ level }) => level === 'full' || level === 'past').map(({ id }) => id));
    const until = ends.length === 0 ? null : new Date(Math.min(...ends));
    const parents = await kin.walk(this.claims, until, evidence, parentsOfEggs(eggs.read));
    const sources = {
      ...(await this.sources.read(viewer, views)),
      taxa: await this.taxa.findMany(views.map((view) => view.taxonId)),
      lines: await this.taxa.findLines(views.flatMap((view) => view.lineId ?? [])),
    };
    const animals = views.map((view) => packAnimal(view, sources, kin, parents.get(view.id) ?? []));
    const kinIds = [...kin.relatives().map(({ id }) => id), ...parentsOfEggs(eggs.read)];
    const species = await this.store.findPlaces([...new Set(kinIds)]);
    const packed = packEggs(eggs.read, eggs.transfer, kin, (id) => species.get(id) ?? '', {
      on: eggs.on,
      own: sources.own,
    });
    const relatives = await this.readRelatives(viewer, kin, species);
    return recordPack.parse({
      form: PACK_FORM,
      animals,
      eggs: packed,
      relatives,
      ancestryComplete: kin.complete,
    } satisfies RecordPack);
  }

  private async readRelatives(
    viewer: Viewer,
    kin: PackKin,
    species: ReadonlyMap<string, string>,
  ): Promise<RecordPack['relatives']> {
    const relatives = kin.relatives();
    const ids = relatives.map(({ id }) => id);
    const views = await this.animals.findVisible(viewer, ids);
    const lines = await this.taxa.findLines([...views.values()].flatMap((view) => view.lineId ?? []));
    return relatives.map(({ id, ref, sex, isLot, parents }) => {
      const view = views.get(id);
      return {
        ref,
        registerNumber: view === undefined ? null : formatRegisterNumber(view.registerNumber as RegisterNumber),
        kind: view?.kind ?? (isLot ? 'lot' : 'individual'),
        scientificName: species.get(id) ?? '',
        line: lines.get(view?.lineId ?? '')?.name ?? null,
        sex: view?.sex ?? sex,
        birthYear: view?.birthYear ?? null,
        originClass: view?.originClass ?? 'unknown',
        parents,
      };
    });
  }
}

type Sources = Awaited<ReturnType<PackSources['read']>> & {
  readonly taxa: ReadonlyMap<string, Taxon>;
  readonly lines: ReadonlyMap<string, Line>;
};

function packAnimal(view: AnimalView, from: Sources, kin: PackKin, parents: PackAnimal['parents']): PackAnimal {
  const { id, readsUntil: until } = view;
  const taxon = from.taxa.get(view.taxonId);
  const documents: DocumentView[] = (from.documents.get(id) ?? []).map((row) => row.document);
  const files = from.files.get(id) ?? [];
  return {
    ref: kin.ref(id),
    registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
    kind: view.kind,
    taxon: {
      scientificName: taxon?.scientificName ?? '',
      commonName: taxon?.commonName ?? '',
      className: taxon?.className ?? '',
      orderName: taxon?.orderName ?? '',
      nameSource: taxon?.nameSource ?? '',
    },
    line: from.lines.get(view.lineId ?? '')?.name ?? null,
    count: view.record?.count ?? 0,
    countEstimated: view.record?.countEstimated ?? false,
    founder: view.declaredFounder,
    readsUntil: until?.toISOString() ?? null,
    facts: packFacts(from.facts.get(id) ?? [], until),
    marks: packMarks(from.marks.get(id) ?? [], from.sessions, pictureHash(files, until), until),
    parents,
    merges: packMerges(id, from.merges, kin, until),
    ...packCounts(id, from.changes, kin, until),
    matings: packMatings(id, from.matings, kin, until),
    clutches: packClutches(id, from.clutches, kin, { until, own: from.own, breedersAt: from.breedersAt }),
    // Before it arrives, a quarantine is the giver's affair; see `checkSending`.
    quarantines: view.level === 'offered' ? [] : packQuarantines(id, from.quarantines, from.own, until),
    documents: packDocuments(documents, until),
    pictures: packPictures(files, until),
    custody: packCustody(from.custody.get(id) ?? [], from.own, until),
    ownership: packOwnership(from.ownership.get(id) ?? [], from.own, until),
  };
}

function pictureHash(files: readonly AnimalFileView[], until: Until): (fileId: string) => string | undefined {
  const shown = files.filter((file) => file.withdrawn === null && (until === null || file.uploadedAt <= until));
  const hashes = new Map(shown.map(({ id, copies }) => [id, copies?.shared.sha256]));
  return (fileId) => hashes.get(fileId);
}
