import { z } from 'zod';
import {
  ACQUISITION_MANNERS,
  BIRTH_MANNERS,
  CERTAINTIES,
  FATES,
  MARK_KINDS,
  ORIGIN_CLASSES,
  SEXES,
  TRAIT_BASES,
  TRAIT_STATES,
} from '../../animal/index.js';
import { invalidInput, parseEdtf } from '../../kernel/index.js';
import { PARENTAGE_BASES } from '../../lineage/index.js';
import { canonicalJson, sha256Hex } from '../../platform/canonical.js';

/** Version of the form; a pack of another form has another number and another schema. */
export const PACK_VERSION = 1;
/** What the schema is known by on every server: it does not depend on where it was fetched. */
export const PACK_SCHEMA_ID = 'urn:kithbook:record-pack:1';
/** Most ancestors of one pack, and how many generations back they are looked for. */
export const PACK_BOUNDS = { ancestors: 2000, generations: 40 } as const;

const text = (longest: number) =>
  z
    .string()
    .min(1, 'This is empty. | Leave the field out.')
    .max(longest, `Longer than ${longest} characters. | Shorten it.`);
const day = z
  .string()
  .regex(/^\d{4}-\d{2}-\d{2}$/, 'This is not a day. | Write year-month-day, for example 2026-05-03.');
/** EDTF level 1 (Library of Congress, 2019). */
const when = z
  .string()
  .max(100, 'Longer than 100 characters. | Write EDTF, for example 2026-05.')
  .refine((said) => parseEdtf(said).ok, 'This is not a date. | Write EDTF, for example 2026-05 or 2026-05~.')
  .nullable();
/** Name of an animal within this pack; says nothing outside it. */
const ref = z.string().regex(/^r[1-9]\d{0,4}$/, 'This names no animal of a pack. | Write r1, r2 and so on.');
const known = z.enum(['yes', 'no', 'unknown']);
const sha256 = z
  .string()
  .regex(/^[0-9a-f]{64}$/, 'This is no SHA-256. | Write 64 hexadecimal digits in small letters.');
const probability = z.number().gt(0).lte(1);

const claim = z.strictObject({
  role: z.enum(['sire', 'dam']),
  basis: z.enum(PARENTAGE_BASES),
  /** It developed without a sire. */
  withoutSire: z.boolean(),
  when,
  candidates: z.array(z.strictObject({ ref, probability })).max(100),
});
const claims = z.array(claim).max(2);

const said = { when };
const certainty = z.enum(CERTAINTIES).optional();
/** Facts in force. Who said them is left out. */
const fact = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('birth'), ...said, body: z.strictObject({ manner: z.enum(BIRTH_MANNERS) }) }),
  z.strictObject({
    kind: z.literal('sex'),
    ...said,
    body: z.strictObject({ sex: z.enum(SEXES), method: text(100).optional(), confidence: certainty }),
  }),
  z.strictObject({ kind: z.literal('origin'), ...said, body: z.strictObject({ originClass: z.enum(ORIGIN_CLASSES) }) }),
  z.strictObject({
    kind: z.literal('acquisition'),
    ...said,
    body: z.strictObject({
      manner: z.enum(ACQUISITION_MANNERS),
      country: z
        .string()
        .regex(/^[A-Z]{2}$/)
        .optional(),
    }),
  }),
  z.strictObject({ kind: z.literal('name'), ...said, body: z.strictObject({ name: text(100) }) }),
  z.strictObject({ kind: z.literal('seen'), ...said, body: z.strictObject({}) }),
  z.strictObject({
    kind: z.literal('fate'),
    ...said,
    body: z.strictObject({ fate: z.enum(FATES), cause: text(200).optional(), certainty }),
  }),
  z.strictObject({
    kind: z.literal('weight'),
    ...said,
    body: z.strictObject({ grams: z.number().positive().max(1_000_000) }),
  }),
  z.strictObject({
    kind: z.literal('note'),
    ...said,
    body: z.strictObject({ topic: z.enum(['care', 'health']), text: text(4000) }),
  }),
  z.strictObject({
    kind: z.literal('trait'),
    ...said,
    body: z.strictObject({
      gene: text(60),
      state: z.enum(TRAIT_STATES),
      alleles: z.tuple([text(30), text(30)]).optional(),
      basis: z.enum(TRAIT_BASES),
      certainty,
    }),
  }),
  z.strictObject({ kind: z.literal('hybrid'), ...said, body: z.strictObject({ of: z.array(text(100)).max(8) }) }),
]);

const mark = z.strictObject({
  kind: z.enum(MARK_KINDS),
  value: text(200),
  size: z.string().max(100).nullable(),
  fixedView: z.string().max(200).nullable(),
  withScale: z.boolean().nullable(),
  intervalDays: z.int().nullable(),
  when,
  /** Null while it can be read. */
  until: when,
  endCause: z.string().max(40).nullable(),
});

const taxon = z.strictObject({
  scientificName: text(200),
  commonName: text(200),
  className: text(100),
  orderName: text(100),
  nameSource: text(500),
});

const animal = z.strictObject({
  ref,
  registerNumber: text(40),
  kind: z.enum(['individual', 'lot']),
  taxon,
  line: text(200).nullable(),
  count: z.int().min(0).max(1_000_000),
  countEstimated: z.boolean(),
  facts: z.array(fact).max(5000),
  marks: z.array(mark).max(500),
  parents: claims,
  /** The clutch it came from, where one is recorded. */
  cameFrom: z
    .strictObject({
      kind: z.enum(['eggs', 'born']),
      laid: when,
      foundOn: day.nullable(),
      count: z.int().nullable(),
      controlled: known,
      /** A dam that is not among the ancestors of this pack has no ref. */
      dams: z.array(z.strictObject({ ref: ref.nullable(), probability })).max(100),
      egg: z.int().nullable(),
      eggEvents: z
        .array(
          z.strictObject({
            kind: text(40),
            celsius: z.number().nullable(),
            candling: text(40).nullable(),
            when,
          }),
        )
        .max(1000),
      hatched: when,
      hatchedControlled: known,
      matings: z
        .array(
          z.strictObject({
            dam: ref,
            sire: ref.nullable(),
            basis: z.enum(PARENTAGE_BASES),
            controlled: known,
            when,
          }),
        )
        .max(500),
    })
    .nullable(),
  quarantines: z.array(z.strictObject({ days: z.int(), enteredOn: day, leftOn: day.nullable() })).max(1000),
  documents: z
    .array(
      z.strictObject({
        kind: text(40),
        number: text(200),
        issuer: text(300),
        jurisdiction: text(10),
        validFrom: day.nullable(),
        validUntil: day.nullable(),
        files: z.array(z.strictObject({ sha256, mediaType: text(100), size: z.int(), path: text(200) })).max(100),
      }),
    )
    .max(500),
  pictures: z.array(z.strictObject({ sha256, size: z.int(), when, path: text(200) })).max(1000),
  /** Half-open days. Only the keeper who hands over is told apart. */
  custody: z
    .array(
      z.strictObject({
        by: z.enum(['giver', 'a keeper', 'outside party', 'other']),
        from: day,
        to: day.nullable(),
        arrivedBy: text(40),
        leftBy: text(40).nullable(),
      }),
    )
    .max(2000),
});

/** As lineage is shared: one that is not shared with the reader has its place and its sex, and nothing to tell it by. */
const ancestor = z.strictObject({
  ref,
  registerNumber: text(40).nullable(),
  scientificName: text(200),
  line: text(200).nullable(),
  sex: z.enum(SEXES),
  birthYear: z.int().nullable(),
  originClass: z.enum(ORIGIN_CLASSES),
  parents: claims,
});

/** The whole record of the animals of a transfer, to be read by another registry. */
export const recordPack = z.strictObject({
  version: z.literal(PACK_VERSION, `An unknown version. | This registry reads version ${PACK_VERSION}.`),
  contentHash: sha256,
  /** The keeper who hands over, by the name it shows; the only name in a pack. */
  handedOverBy: text(200),
  animals: z.array(animal).min(1, 'A pack without animals. | Ask for it again.').max(500),
  ancestors: z.array(ancestor).max(PACK_BOUNDS.ancestors),
  /** False where more ancestors are recorded than the pack holds. */
  ancestorsComplete: z.boolean(),
});

export type RecordPack = z.infer<typeof recordPack>;

/** The published JSON Schema (draft 2020-12) of a pack. */
export function recordPackJsonSchema(): object {
  return { $id: PACK_SCHEMA_ID, title: 'Record pack', ...z.toJSONSchema(recordPack) };
}

/** SHA-256 over the canonical JSON (RFC 8785) of everything in a pack but `contentHash` itself. */
export function packHash(pack: Omit<RecordPack, 'contentHash'>): string {
  const content = Object.fromEntries(Object.entries(pack).filter(([key]) => key !== 'contentHash'));
  return sha256Hex(canonicalJson(content));
}

/**
 * Reads a pack that came from elsewhere. INVALID_INPUT names the field: a form that is not the schema's, a hash that is not
 * the content's, an animal named twice or not at all, an animal that is its own ancestor.
 */
export function readPack(input: unknown): RecordPack {
  const read = recordPack.safeParse(input);
  if (!read.success) {
    throw invalidInput(
      read.error.issues.slice(0, 20).map(({ path, message }) => {
        const [problem = message, remedy] = message.split(' | ');
        return { path: path.join('.') || 'pack', message: problem, remedy: remedy ?? 'See /record-pack.schema.json.' };
      }),
    );
  }
  const pack = read.data;
  if (packHash(pack) !== pack.contentHash) {
    throw wrong(
      'contentHash',
      'The content is not what the hash was made of: the pack was changed.',
      'Ask for it again.',
    );
  }
  checkRefs(pack);
  checkSums(pack);
  return pack;
}

function checkRefs(pack: RecordPack): void {
  const parents = new Map<string, readonly string[]>();
  const paths = new Map<string, string>();
  for (const list of ['animals', 'ancestors'] as const) {
    pack[list].forEach((each, i) => {
      if (parents.has(each.ref))
        throw wrong(`${list}.${i}.ref`, `${each.ref} stands for two animals.`, 'Ask for the pack again.');
      parents.set(
        each.ref,
        each.parents.flatMap(({ candidates }) => candidates.map((candidate) => candidate.ref)),
      );
      paths.set(each.ref, `${list}.${i}.parents`);
    });
  }
  for (const [child, named] of parents) {
    const unknown = named.find((parent) => !parents.has(parent));
    if (unknown !== undefined)
      throw wrong(paths.get(child) ?? '', `${unknown} is not in the pack.`, 'Ask for the pack again.');
  }
  const waiting = new Map([...parents].map(([child, named]) => [child, named.length]));
  const children = new Map<string, string[]>();
  for (const [child, named] of parents)
    for (const parent of named) children.set(parent, [...(children.get(parent) ?? []), child]);
  const ready = [...waiting].filter(([, open]) => open === 0).map(([each]) => each);
  for (let next = ready.pop(); next !== undefined; next = ready.pop()) {
    waiting.delete(next);
    for (const child of children.get(next) ?? []) {
      const open = (waiting.get(child) ?? 0) - 1;
      waiting.set(child, open);
      if (open === 0) ready.push(child);
    }
  }
  // What is left hangs on a loop or lies in it: going back from anywhere ends in it.
  const walked = new Set<string>();
  let [looped] = waiting.keys();
  while (looped !== undefined && !walked.has(looped)) {
    walked.add(looped);
    looped = parents.get(looped)?.find((parent) => waiting.has(parent));
  }
  if (looped !== undefined)
    throw wrong(paths.get(looped) ?? '', `${looped} is among its own ancestors.`, 'Ask for the pack again.');
}

function checkSums(pack: RecordPack): void {
  for (const list of ['animals', 'ancestors'] as const) {
    pack[list].forEach(({ parents }, i) => {
      if (new Set(parents.map(({ role }) => role)).size < parents.length)
        throw wrong(`${list}.${i}.parents`, 'Two claims on one parent.', 'Ask for the pack again.');
      parents.forEach(({ candidates, withoutSire }, j) => {
        const sum = candidates.reduce((so, { probability: each }) => so + each, 0);
        if (withoutSire ? candidates.length > 0 : Math.abs(sum - 1) > 1e-6)
          throw wrong(
            `${list}.${i}.parents.${j}.candidates`,
            'The probabilities do not sum to 1.',
            'Ask for the pack again.',
          );
      });
    });
  }
}

function wrong(path: string, message: string, remedy: string) {
  return invalidInput([{ path, message, remedy }]);
}
