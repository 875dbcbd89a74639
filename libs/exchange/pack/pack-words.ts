import { whenInWords } from '../../transfer/index.js';
import { type PackAnimal, type PackBreeder, type RecordPack } from './record-pack.schema.js';

/** A part of the printed record: what stands left is what the text is about. */
export type Section = { readonly title: string; readonly lines: readonly (readonly [label: string, text: string])[] };

type When = { readonly edtf: string } | null;

const on = (when: When): string => whenInWords(when?.edtf ?? null);
const plain = (code: string): string => code.replaceAll('_', ' ');
const joined = (...parts: (string | null | undefined | false)[]): string =>
  parts.filter((part) => part !== null && part !== undefined && part !== false && part !== '').join(', ');
const span = (from: string, to: string | null): string =>
  `${whenInWords(from)} to ${to === null ? 'now' : whenInWords(to)}`;

/** How the other animals of a pack are called on paper. */
export type Call = (ref: string) => string;

/** Calls an animal by its register number, or one that is not shared by its place. */
export function callsOf(pack: RecordPack): Call {
  const numbers = new Map(
    [...pack.animals, ...pack.relatives].map((each) => [each.ref, each.registerNumber ?? `${each.ref} (not shared)`]),
  );
  return (ref) => numbers.get(ref) ?? ref;
}

/** Everything a pack says of one animal, in words. Sections with nothing to say are left out. */
export function animalSections(animal: PackAnimal, call: Call): Section[] {
  const sections: Section[] = [
    { title: `${animal.registerNumber} · ${animal.taxon.scientificName}`, lines: identity(animal, call) },
    { title: 'Facts', lines: animal.facts.map((fact) => [on(fact.when), factInWords(fact)]) },
    { title: 'Marks', lines: animal.marks.map((mark) => [plain(mark.kind), markInWords(mark)]) },
    { title: 'Parents', lines: animal.parents.map((claim) => [plain(claim.role), claimInWords(claim, call)]) },
    {
      title: 'Merged records',
      lines: animal.merges.map(({ as, other, because, recordedAt, undone }) => [
        recordedAt.slice(0, 10),
        joined(
          as === 'kept' ? `${call(other)} went on in this record` : `went on in ${call(other)}`,
          because,
          overInWords(undone),
        ),
      ]),
    },
    {
      title: 'Changes of the count',
      lines: animal.countChanges.map(({ on: day, cause, delta, estimated }) => [
        whenInWords(day),
        `${plain(cause)}: ${estimated ? 'about ' : ''}${delta > 0 ? '+' : ''}${delta}`,
      ]),
    },
    {
      title: 'Matings',
      lines: animal.matings.map((row) => [
        on(row.when),
        joined(
          `${call(row.dam)} with ${row.sire === null ? 'an unknown sire' : call(row.sire)}`,
          plain(row.basis),
          `controlled environment: ${row.controlled}`,
        ),
      ]),
    },
    { title: 'Clutches', lines: animal.clutches.flatMap((clutch) => clutchLines(clutch, call)) },
    {
      title: 'Quarantine',
      lines: animal.quarantines.map((stay) => [
        `${stay.days} days`,
        joined(
          span(stay.enteredOn, stay.leftOn),
          stay.restartedOn.length > 0 && `started anew ${stay.restartedOn.map(whenInWords).join(' and ')}`,
        ),
      ]),
    },
    {
      title: 'Documents',
      lines: animal.documents.map((row) => [
        plain(row.permitForm ?? row.kind),
        joined(
          row.number,
          row.authority,
          row.jurisdiction,
          row.validFrom !== null && `from ${whenInWords(row.validFrom)}`,
          row.validUntil !== null && `until ${whenInWords(row.validUntil)}`,
          ...row.files.map(({ path }) => path),
        ),
      ]),
    },
    {
      title: 'Pictures',
      lines: animal.pictures.map((row) => [
        row.taken === null ? 'day unknown' : whenInWords(row.taken),
        joined(row.caption, row.path),
      ]),
    },
    {
      title: 'Kept by',
      lines: animal.custody.map((row) => [
        row.name ?? plain(row.holder),
        joined(span(row.from, row.to), plain(row.arrivedBy), row.leftBy !== null && plain(row.leftBy)),
      ]),
    },
    {
      title: 'Owned by',
      lines: animal.ownership.map((row) => [
        row.state === 'disputed' ? 'disputed' : 'by the record',
        joined(
          span(row.from, row.to),
          ...row.shares.map(({ owner, own, parts }) => {
            const who = own ? 'you' : plain(owner);
            return row.shares.length === 1 ? who : `${who}: ${parts} of ${total(row.shares)}`;
          }),
        ),
      ]),
    },
  ];
  return sections.filter(({ lines }) => lines.length > 0);
}

/** Eggs that go with a transfer, one a line, below the clutch they are of. */
export function eggSections(pack: RecordPack, call: Call): Section[] {
  const possible = (parents: readonly { ref: string; probability: number }[]): string =>
    parents
      .map(({ ref, probability }) =>
        probability === 1 ? call(ref) : `${call(ref)} (${Math.round(probability * 1000) / 10} %)`,
      )
      .join(' or ');
  return pack.eggs.map((clutch) => ({
    title: `Eggs · ${clutch.scientificName}`,
    lines: [
      ['Laid', joined(on(clutch.laid), clutch.foundOn !== null && `found ${whenInWords(clutch.foundOn)}`)],
      ['Dam', joined(possible(clutch.dams), clutch.damBasis !== null && plain(clutch.damBasis))],
      ...(clutch.sires === null
        ? []
        : [
            [
              'Possible sires',
              clutch.sires.length === 0
                ? 'unknown'
                : joined(possible(clutch.sires), clutch.sireBasis !== null && plain(clutch.sireBasis)),
            ] as const,
          ]),
      ...bredByLine(clutch.breeders),
      ['Days counted to', whenInWords(clutch.countedTo)],
      ...clutch.eggs.map(
        (egg) =>
          [
            `Egg ${egg.number}`,
            joined(
              plain(egg.state),
              egg.topMarked && 'top marked: do not turn it',
              egg.place,
              egg.celsius !== null && `${egg.celsius} °C`,
              egg.incubatedDays !== null && incubatedInWords(egg.incubatedDays),
              egg.arrival !== null && `arrived ${plain(egg.arrival)}`,
              egg.receivedOn !== null && whenInWords(egg.receivedOn),
              ...egg.events.map(({ kind, candling, when }) =>
                joined(plain(kind), candling !== null && plain(candling), when !== null && on(when)),
              ),
            ),
          ] as const,
      ),
    ],
  }));
}

function incubatedInWords({ least, most }: { least: number; most: number | null }): string {
  return least === most ? `incubated ${least} days` : `incubated ${least} to ${most ?? 'an unknown number of'} days`;
}

/** The relatives of a pack, one a line. */
export function relativesSection(pack: RecordPack, call: Call): Section {
  return {
    title: 'Relatives',
    lines: pack.relatives.map((each) => [
      call(each.ref),
      joined(
        each.scientificName,
        each.kind === 'lot' && 'lot',
        each.line,
        each.sex === 'unknown' ? 'sex unknown' : each.sex,
        each.birthYear !== null && `born ${each.birthYear}`,
        each.originClass === 'unknown' ? null : each.originClass,
        ...each.parents.map((claim) => `${claim.role} ${parentsInWords(claim, call)}`),
      ),
    ]),
  };
}

function identity(animal: PackAnimal, call: Call): Section['lines'] {
  const { taxon, outOfLot } = animal;
  return [
    ['Species', `${taxon.scientificName} (${taxon.commonName}), ${taxon.orderName}, ${taxon.className}`],
    ['Names from', taxon.nameSource],
    ...(animal.line === null ? [] : [['Line', animal.line] as const]),
    ...(animal.kind === 'lot'
      ? [['Number of animals', `${animal.countEstimated ? 'about ' : ''}${animal.count}, kept as a lot`] as const]
      : []),
    ...(animal.founder === true ? [['Founder', 'its line begins with it, as declared'] as const] : []),
    ...(outOfLot === null
      ? []
      : [['Out of a lot', `${call(outOfLot.lot)}, ${outOfLot.by} ${whenInWords(outOfLot.on)}`] as const]),
    ...(animal.readsUntil === null
      ? []
      : [['Known until', `${animal.readsUntil}; what was recorded later is not shown`] as const]),
  ];
}

type Fact = PackAnimal['facts'][number];

const ORIGINS: Record<Extract<Fact, { kind: 'origin' }>['body']['originClass'], string> = {
  bred: 'bred in captivity, as claimed',
  wild: 'taken from the wild, as claimed',
  ranched: 'ranched, as claimed',
  unknown: 'unknown',
};

function factInWords(fact: Fact): string {
  return joined(factBody(fact), overInWords(fact.superseded));
}

function factBody(fact: Fact): string {
  switch (fact.kind) {
    case 'birth':
      return fact.body.manner === 'unknown' ? 'born or hatched' : fact.body.manner;
    case 'origin':
      return `origin: ${ORIGINS[fact.body.originClass]}`;
    case 'weight':
      return `weight: ${fact.body.grams} g`;
    case 'length':
      return `length (${plain(fact.body.measure)}): ${fact.body.millimetres} mm`;
    case 'temperature':
      return `temperature of the ${plain(fact.body.of)}: ${fact.body.celsius} °C`;
    case 'note':
      return `${fact.body.topic} note: ${fact.body.text}`;
    default:
      return restInWords(fact);
  }
}

function restInWords(fact: Fact): string {
  const values = Object.entries(fact.body).map(([key, value]) =>
    key === fact.kind
      ? plain(String(value))
      : `${key} ${Array.isArray(value) ? value.join('/') : plain(String(value))}`,
  );
  return `${fact.kind}: ${values.join(', ')}`.replace(/: $/, '');
}

function overInWords(over: { at: string; reason: string | null } | null): string | null {
  return over === null
    ? null
    : `no longer in force since ${over.at.slice(0, 10)} (${over.reason ?? 'no reason given'})`;
}

function markInWords(mark: PackAnimal['marks'][number]): string {
  return joined(
    mark.value,
    mark.size !== null && `size ${mark.size}`,
    mark.fixedView !== null && `view: ${mark.fixedView}${mark.withScale === true ? ' with a scale' : ''}`,
    mark.intervalDays !== null && `every ${mark.intervalDays} days`,
    mark.when !== null && `since ${on(mark.when)}`,
    mark.until !== null && `until ${on(mark.until)} (${plain(mark.endCause ?? 'other')})`,
    ...mark.sessions.map(
      ({ takenOn, comparisons }) =>
        `pictures of ${whenInWords(takenOn)}${comparisons.map((each) => `, ${each.verdict} as ${each.earlierOn}`).join('')}`,
    ),
    overInWords(mark.superseded),
  );
}

function parentsInWords(claim: RecordPack['relatives'][number]['parents'][number], call: Call): string {
  if (claim.withoutSire) return 'none: it developed without one';
  const named = claim.candidates.map(({ ref, probability }) =>
    probability === 1 ? call(ref) : `${call(ref)} (${Math.round(probability * 1000) / 10} %)`,
  );
  return named.length === 0 ? 'unknown' : named.join(' or ');
}

function claimInWords(claim: PackAnimal['parents'][number], call: Call): string {
  return joined(
    parentsInWords(claim, call),
    plain(claim.basis),
    claim.when !== null && on(claim.when),
    claim.evidence,
    overInWords(claim.superseded),
  );
}

function bredByLine(breeders: readonly PackBreeder[]): Section['lines'] {
  if (breeders.length === 0) return [];
  const words = breeders.map(
    ({ breeder, own, sure }) => `${sure === 'yes' ? '' : 'possibly '}${own ? 'you' : plain(breeder)}`,
  );
  return [['Bred by', `${words.join('; ')} (by the records of who owned the dam)`]];
}

function clutchLines(clutch: PackAnimal['clutches'][number], call: Call): Section['lines'] {
  const dams = clutch.dams.map(({ ref, probability }) =>
    probability === 1 ? call(ref) : `${call(ref)} (${Math.round(probability * 1000) / 10} %)`,
  );
  return [
    [
      on(clutch.laid),
      joined(
        `${clutch.kind === 'eggs' ? 'laid' : 'born'} by ${dams.join(' or ')}`,
        clutch.eggCount !== null && `${clutch.eggCount} ${clutch.kind === 'eggs' ? 'eggs' : 'young'}`,
        clutch.foundOn !== null && `found ${whenInWords(clutch.foundOn)}`,
        `controlled environment: ${clutch.controlled}`,
      ),
    ],
    ...bredByLine(clutch.breeders),
    ...clutch.eggEvents.map(
      (event) =>
        [
          on(event.when),
          joined(
            `${event.egg === null ? 'all eggs left' : `egg ${event.egg}`}: ${plain(event.kind)}`,
            event.celsius !== null && `${event.celsius} °C`,
            event.candling,
          ),
        ] as const,
    ),
    ...clutch.young.map(
      (young) =>
        [
          on(young.when),
          joined(
            `${call(young.ref)} ${clutch.kind === 'eggs' ? 'hatched' : 'born'}`,
            young.egg !== null && `egg ${young.egg}`,
            `controlled environment: ${young.controlled}`,
          ),
        ] as const,
    ),
  ];
}

function total(shares: readonly { readonly parts: number }[]): number {
  return shares.reduce((sum, { parts }) => sum + parts, 0);
}
