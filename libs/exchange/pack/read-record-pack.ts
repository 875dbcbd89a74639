import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView, type Fact, inForce, marksInForce } from '../../animal/index.js';
import { dayOf, formatRegisterNumber, type RegisterNumber, ruleRefused, type Viewer } from '../../kernel/index.js';
import { groupRows, TaxonStore } from '../../taxon/index.js';
import { TransferStore } from '../../transfer/index.js';
import { ExportStore } from '../store/export.store.js';
import { PackPapers } from './pack-papers.js';
import { readAncestry, wasInForce } from './pack-ancestry.js';
import { packHash, PACK_VERSION, type RecordPack, recordPack } from './record-pack.schema.js';
import { originOf } from './pack-origin.js';
import { RecordPackStore } from './record-pack.store.js';

type PackAnimal = RecordPack['animals'][number];

/** States in which nothing goes, or went, with the transfer. */
const NOTHING_GOES = ['declined', 'withdrawn', 'expired', 'cancelled', 'failed'];

/** Puts the record of a transfer's animals together for one of its two parties, as far as that party reads them. */
@Injectable()
export class ReadRecordPack {
  constructor(
    private readonly transfers: TransferStore,
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly papers: PackPapers,
    private readonly lineage: ExportStore,
    private readonly store: RecordPackStore,
  ) {}

  /**
   * A past holder's pack stands still: nothing recorded after the hand-over is in it. NOT_FOUND for whoever is no party;
   * RULE_REFUSED TRANSFER_CAME_TO_NOTHING when it ended without a hand-over or the viewer reads none of the animals.
   */
  async execute(viewer: Viewer, transferId: string): Promise<RecordPack> {
    const { transfer, fromLabel } = await this.transfers.getVisible(viewer, transferId);
    const items = transfer.items.map((item) => item.animalId).toSorted();
    const views = await this.animals.findVisible(viewer, items);
    const shown = items.flatMap((id) => views.get(id) ?? []).filter((view) => view.record !== null);
    if (NOTHING_GOES.includes(transfer.state) || shown.length === 0) {
      const message = 'No animals go with this transfer, so there is no record to take along.';
      throw ruleRefused({ rule: 'TRANSFER_CAME_TO_NOTHING', message });
    }
    const ids = shown.map((view) => view.id);
    const ends = shown.flatMap((view) => view.readsUntil?.getTime() ?? []);
    const until = ends.length === 0 ? null : new Date(Math.min(...ends));
    const ancestry = await readAncestry(this.lineage, ids, until);
    const all = [...ancestry.refs.keys()];
    const seen = await this.animals.findVisible(viewer, all);
    const taxa = await this.taxa.findMany([...seen.values()].map((view) => view.taxonId));
    const lines = await this.taxa.findLines([...seen.values()].flatMap((view) => view.lineId ?? []));
    const facts = await this.animals.findFacts(ids);
    const marks = await this.animals.findMarks(ids);
    const hatchings = await this.store.findHatchings(ids);
    const dams = hatchings.flatMap(({ clutch }) =>
      clutch.original.versions.flatMap(({ damId, candidates }) =>
        damId === null ? candidates.map((each) => each.damId) : [damId],
      ),
    );
    const matings = await this.store.findMatings([...new Set(dams)]);
    const custody = groupRows(await this.store.findCustody(ids), (row) => row.animalId);
    const quarantines = groupRows(await this.store.findQuarantines(ids), (row) => row.animalId);
    const documents = await this.papers.documents.findCovering(viewer, ids);
    const pictures = await this.papers.files.findOfAnimals(viewer, ids);
    const places = await this.store.findPlaces(all.filter((id) => !ids.includes(id)));

    const animals = shown.map((view): PackAnimal => {
      const { id, readsUntil } = view;
      const came = (at: Date): boolean => readsUntil === null || at <= readsUntil;
      const {
        className = '',
        orderName = '',
        scientificName = '',
        commonName = '',
        nameSource = '',
      } = taxa.get(view.taxonId) ?? {};
      return {
        ref: ancestry.refs.get(id) ?? '',
        registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
        kind: view.kind,
        taxon: { scientificName, commonName, className, orderName, nameSource },
        line: lineOf(view, lines),
        count: view.record?.count ?? 0,
        countEstimated: view.record?.countEstimated ?? false,
        facts: inForce(facts.get(id) ?? [], readsUntil).flatMap(toPackFact),
        marks: marksInForce(marks.get(id) ?? [], readsUntil).map((mark) => ({
          kind: mark.kind,
          value: mark.value,
          size: mark.size,
          fixedView: mark.fixedView,
          withScale: mark.withScale,
          intervalDays: mark.intervalDays,
          when: mark.when?.edtf ?? null,
          until: mark.ended?.when.edtf ?? null,
          endCause: mark.ended?.cause ?? null,
        })),
        parents: [...(ancestry.claims.get(id) ?? [])],
        cameFrom: originOf(
          hatchings.filter((row) => row.animalId === id),
          matings,
          ancestry.refs,
          readsUntil,
        ),
        quarantines: (quarantines.get(id) ?? [])
          .filter((row) => came(row.recordedAt))
          .map(({ days, enteredOn, leftOn }) => ({
            days,
            enteredOn,
            leftOn: leftOn === null || (readsUntil !== null && leftOn > dayOf(readsUntil)) ? null : leftOn,
          })),
        documents: (documents.get(id) ?? [])
          .filter((row) => row.supersededBy === null)
          .map((row) => ({
            kind: row.kind,
            number: row.number,
            issuer: row.authority,
            jurisdiction: row.jurisdiction,
            validFrom: row.validFrom,
            validUntil: row.validUntil,
            files: row.files.map((file) => ({
              sha256: file.sha256,
              mediaType: file.mediaType,
              size: file.size,
              path: `/documents/${row.id}/files/${file.id}`,
            })),
          })),
        pictures: (pictures.get(id) ?? [])
          .filter(({ withdrawn, uploadedAt }) => withdrawn === null && came(uploadedAt))
          .flatMap(({ id: fileId, copies, edtf }) =>
            copies === null ? [] : [{ ...copies.shared, when: edtf, path: `/animals/${id}/files/${fileId}` }],
          ),
        custody: (custody.get(id) ?? [])
          .filter((row) => wasInForce(row, readsUntil))
          .map((row) => ({
            by: holderWord(row, transfer.fromKeeperId),
            from: row.from,
            to: row.to,
            arrivedBy: row.arrivedBy,
            leftBy: row.leftBy,
          })),
      };
    });
    const sexes = sexByRole(ancestry.claims);
    const ancestors = all
      .filter((id) => !ids.includes(id))
      .map((id): RecordPack['ancestors'][number] => {
        const view = seen.get(id);
        const ref = ancestry.refs.get(id) ?? '';
        return {
          ref,
          registerNumber: view === undefined ? null : formatRegisterNumber(view.registerNumber as RegisterNumber),
          scientificName: places.get(id) ?? '',
          line: view === undefined ? null : lineOf(view, lines),
          sex: view?.sex ?? sexes.get(ref) ?? 'unknown',
          birthYear: view?.birthYear ?? null,
          originClass: view?.originClass ?? 'unknown',
          parents: [...(ancestry.claims.get(id) ?? [])],
        };
      });
    const content = {
      version: PACK_VERSION,
      handedOverBy: fromLabel,
      animals,
      ancestors,
      ancestorsComplete: ancestry.complete,
    } as const;
    return recordPack.parse({ ...content, contentHash: packHash(content) } satisfies RecordPack);
  }
}

function lineOf({ lineId }: AnimalView, lines: ReadonlyMap<string, { readonly name: string }>): string | null {
  return lineId === null ? null : (lines.get(lineId)?.name ?? null);
}

/** A fact without who said it; private notes go nowhere. */
function toPackFact(fact: Fact): PackAnimal['facts'] {
  if (fact.kind === 'note' && fact.body.topic === 'private') return [];
  const body = Object.fromEntries(Object.entries(fact.body).filter(([key]) => key !== 'statedBy' && key !== 'foundBy'));
  return [{ kind: fact.kind, when: fact.when?.edtf ?? null, body } as PackAnimal['facts'][number]];
}

function holderWord(
  row: { holderKind: string; keeperId: string | null },
  giverId: string,
): PackAnimal['custody'][number]['by'] {
  if (row.keeperId === giverId) return 'giver';
  if (row.holderKind === 'keeper') return 'a keeper';
  return row.holderKind === 'outside_party' ? 'outside party' : 'other';
}

function sexByRole(
  claims: ReadonlyMap<string, readonly PackAnimal['parents'][number][]>,
): Map<string, 'male' | 'female'> {
  const sexes = [...claims.values()]
    .flat()
    .flatMap(({ role, candidates }) =>
      candidates.map(({ ref }) => [ref, role === 'sire' ? 'male' : 'female'] as const),
    );
  return new Map(sexes);
}
