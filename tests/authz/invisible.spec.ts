import { randomInt } from 'node:crypto';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  type GraphQLArgument,
  type GraphQLInputField,
  type GraphQLInputType,
  isEnumType,
  isInputObjectType,
  isListType,
  isNonNullType,
  isObjectType,
} from 'graphql';
import { v7 as uuid } from 'uuid';
import { formatRegisterNumber, makeRegisterNumber } from '../../libs/kernel/index.js';
import { BreedingWorld } from '../support/breeding-world.js';
import { HIDDEN_ON, type HiddenWorld, makeHiddenWorld } from '../support/hidden-world.js';
import { kindsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * What a viewer may not see answers as what there is not: for every place in every query and mutation that takes an id or a
 * register number, the answer about a record of others is byte for byte the answer about an id of nothing, after the same
 * statements to the database, so that its time tells nothing either. The operations are taken from the schema, so that a new
 * one is asked as well.
 */

let test: TestApp;
let world: RegistryWorld;
let viewer: TestKeeper;
/** What the viewer may not see. */
let hidden: HiddenWorld;
/** What the viewer may name in the other places of a call. */
const own: Record<string, string> = {};

const TODAY = HIDDEN_ON;

/** A register number that nobody has. */
const NO_NUMBER = formatRegisterNumber(makeRegisterNumber((below) => randomInt(below)));

/** Which table the ids of a place are of. A place that is not listed is asked with the ids of all tables. */
const TABLES: readonly [RegExp, readonly string[]][] = [
  [/^Query\.(animal|animals|a|b)|animalIds?$|^(dam|sire|parent)Id$|^(keep|merge|merged)Id$|otId$|^about/, ['animal']],
  [/nclosureId$/, ['enclosure']],
  [/^(from|to)?[kK]eeperIds?$/, ['keeper']],
  [/^clutchId$|^mergeInto$/, ['clutch']],
  [/^transferId$/, ['transfer']],
  [/^threadId$/, ['ask_thread']],
  [/^clubId$/, ['club']],
  [/^collectionId$/, ['collection']],
  [/^documentId$/, ['holding_document']],
  [/^groupId$/, ['quarantine_group']],
];

/**
 * Places whose ids are no secret, each with the reason: an id that somebody was given may be named to offer or to grant
 * something, and taxa and lines are everybody's.
 */
const OPEN_PLACES = new Set([
  'offerTransfer.toKeeperId', // a keeper gives out its id so that others can offer to it
  'grantReading.toKeeperId', // the same
]);
const OPEN_NAMES = new Set(['taxonId', 'lineId']);

/** Fewest places of which the random id is answered by NOT_FOUND: so many are asked past the reading of the input. */
const LEAST_ASKED = 90;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  hidden = await makeHiddenWorld(test, world);
  viewer = await world.keeper('Viewer');
  own['keeperId'] = viewer.keeperId;
  own['taxonId'] = await world.taxon();
  own['animalId'] = await world.animal(viewer, own['taxonId'], { sex: 'female' });
  own['otherId'] = await world.animal(viewer, own['taxonId'], { sex: 'male' });
  own['lotId'] = await world.lot(viewer, own['taxonId'], 5);
  const breeding = new BreedingWorld(test, world);
  own['enclosureId'] =
    (await breeding.send(viewer, 'recordEnclosure', { keeperId: viewer.keeperId, name: 'Mine' })).data?.[
      'recordEnclosure'
    ]?.enclosure.id ?? '';
}, 120_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

/** Texts that are read more strictly than a note is. */
const TEXTS: readonly [RegExp, string][] = [
  [/mail/i, 'somebody@example.org'],
  [/slug/i, 'a-slug'],
  [/jurisdiction/, 'DE'],
  [/region/, 'DE-BY'],
  [/^when$|edtf/, TODAY],
];

/** What an operation needs beside its required fields to look for the id at all; laid over the fields beside the place asked about. */
const NEEDS: Readonly<Record<string, object>> = {
  'claimOwnership.keeperId': { registerNumber: NO_NUMBER },
  'correctBreedingFact.factId': { takeBack: true, kind: 'clutch' },
  'correctEggEvent.eventId': { takeBack: true },
  'correctStay.stayId': { takeBack: true },
  'offerTransfer.fromKeeperId': { kind: 'gift', toOutsideParty: { name: 'Somebody' } },
  'recordEggEvents.clutchId': { kind: 'candled', candling: 'clear', eggs: [1] },
  'recordFact.animalId': { weightGrams: 1 },
  'recordFacts.facts.animalId': { weightGrams: 1 },
  'recordMark.animalId': { kind: 'tag', value: 'A-1' },
  'setKeeperRole.accountId': { role: 'helper' },
  'setKeeperRole.keeperId': { role: 'helper' },
  'supersedeFact.factId': { weightGrams: 1 },
  'recordDocument.keeperId': { covers: [{ wholeCollection: true }] },
};

const bare = (type: GraphQLInputType): GraphQLInputType => (isNonNullType(type) ? bare(type.ofType) : type);
const inner = (type: GraphQLInputType): GraphQLInputType => {
  const known = bare(type);
  return isListType(known) ? inner(known.ofType) : known;
};

/** Every place for an id or a register number among arguments or fields of an input, a few levels down. */
function placesIn(fields: readonly (GraphQLArgument | GraphQLInputField)[], path: string[]): string[][] {
  return fields.flatMap((field) => {
    const type = inner(field.type);
    const here = [...path, field.name];
    if (isInputObjectType(type)) return here.length > 4 ? [] : placesIn(Object.values(type.getFields()), here);
    return String(type) === 'ID' || field.name === 'registerNumber' ? [here] : [];
  });
}

/** A value for a place that is not the one asked about: something of the viewer's own where an id is wanted. */
function filler(name: string, type: GraphQLInputType): unknown {
  const known = bare(type);
  if (isListType(known)) return [filler(name.replace(/s$/, ''), known.ofType)];
  if (isEnumType(known)) return known.getValues()[0]?.name;
  if (isInputObjectType(known)) return object(Object.values(known.getFields()), [], '');
  switch (String(known)) {
    case 'ID':
      if (/eeperId$/.test(name)) return own['keeperId'];
      if (/nclosureId$/.test(name)) return own['enclosureId'];
      if (/otId$/.test(name)) return own['lotId'];
      if (/^(sire|merge|b$)/.test(name)) return own['otherId'];
      return own[name] ?? own['animalId'];
    case 'Int':
    case 'Float':
      return 1;
    case 'Boolean':
      return true;
    case 'Day':
      return TODAY;
    case 'DateTime':
      return `${TODAY}T12:00:00Z`;
    default:
      return TEXTS.find(([pattern]) => pattern.test(name))?.[1] ?? 'some text of a test';
  }
}

/** The required fields filled in, and the place asked about with the id. */
function object(
  fields: readonly (GraphQLArgument | GraphQLInputField)[],
  path: readonly string[],
  id: string,
  needs: object = {},
): object {
  const [next, ...rest] = path;
  const filled = Object.fromEntries(
    fields.flatMap((field) => {
      if (field.name !== next) return isNonNullType(field.type) ? [[field.name, filler(field.name, field.type)]] : [];
      const type = inner(field.type);
      const value = isInputObjectType(type) ? object(Object.values(type.getFields()), rest, id, needs) : id;
      return [[field.name, isListType(bare(field.type)) ? [value] : value]];
    }),
  );
  return rest.length === 0 ? { ...filled, ...needs } : filled;
}

it('answers about a record of others as about nothing, wherever an operation takes an id', async () => {
  const { schema } = { schema: test.app.get(GraphQLSchemaHost).schema };
  const roots = [schema.getQueryType(), schema.getMutationType()].filter((type) => type !== null && type !== undefined);
  const unlike: object[] = [];
  const codes = new Map<string, string>();
  for (const root of roots)
    for (const field of Object.values(root.getFields())) {
      const sub = isObjectType(bareOutput(field.type)) ? ' { __typename }' : '';
      const isMutation = root === schema.getMutationType();
      const heads = field.args.map((arg) => `$${arg.name}: ${String(arg.type)}`).join(', ');
      const passed = field.args.map((arg) => `${arg.name}: $${arg.name}`).join(', ');
      const document = `${isMutation ? 'mutation' : 'query'} (${heads}) { ${field.name}(${passed})${sub} }`;
      for (const path of placesIn(field.args, [])) {
        const name = path.at(-1) ?? '';
        const place = `${field.name}.${path.filter((each) => each !== 'input').join('.')}`;
        if (OPEN_PLACES.has(place) || OPEN_NAMES.has(name)) continue;
        const tables = TABLES.find(
          ([pattern]) => pattern.test(isMutation ? name : `Query.${name}`) || pattern.test(name),
        );
        const isNumber = name === 'registerNumber';
        // Of a table that is asked for by name all its states, of the others one row each.
        const ids: (readonly [string, string])[] = isNumber
          ? hidden.registerNumbers.map((number) => ['animal', number])
          : [...hidden.ids].flatMap(([table, all]) =>
              (tables === undefined ? all.slice(0, 1) : tables[1].includes(table) ? all : []).map(
                (id) => [table, id] as const,
              ),
            );
        expect([place, ids.length > 0]).toEqual([place, true]);
        const answer = async (id: string): Promise<{ text: string; statements: string[] }> => {
          // Each is answered for itself, not for having asked often.
          await world.db.rateLimit.deleteMany();
          let text = '';
          const statements = await kindsOf(async () => {
            const sent = await test
              .http()
              .post('/graphql')
              .set('authorization', `Bearer ${viewer.token}`)
              .send({ query: document, variables: object(field.args, path, id, NEEDS[place]) });
            text = `${sent.status} ${sent.text.replace(/"requestId":"[^"]*"/g, '')}`.replaceAll(id, 'ID');
          });
          return { text, statements };
        };
        const nothing = await answer(isNumber ? NO_NUMBER : uuid());
        codes.set(place, /"code":"([A-Z_]+)"/.exec(nothing.text)?.[1] ?? 'answered');
        for (const [table, id] of ids) {
          const about = await answer(id);
          if (JSON.stringify(about) !== JSON.stringify(nothing)) unlike.push({ place, table, about, nothing });
        }
      }
    }
  expect(unlike).toEqual([]);
  const notFound = [...codes].filter(([, code]) => code === 'NOT_FOUND');
  expect(notFound.length).toBeGreaterThanOrEqual(LEAST_ASKED);
}, 600_000);

function bareOutput(type: unknown): unknown {
  const wrapped = type as { ofType?: unknown };
  return wrapped.ofType === undefined ? type : bareOutput(wrapped.ofType);
}
