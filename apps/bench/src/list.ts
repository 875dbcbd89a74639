import { type Config } from '../../../libs/platform/config/index.js';
import { load, type Call, startServer } from './client.js';
import { makeHerd } from './herd.js';
import { Registry, toPedigreeAnimals } from './registry.js';
import { recordStatements, type Statement } from './statements.js';
import { milliseconds, printNote, printTable, ratio, whole } from './table.js';

const ANIMALS = 5_000;
const KEEPERS = 20;
const CLIENTS = 8;
const SECONDS = 6;
const ROUNDS = 2;

const QUERY = `query ($keeperId: ID!) {
  myCollection(keeperId: $keeperId, first: 50) {
    edges { node { id registerNumber sex birthYear name taxon { scientificName commonName } marks { kind value } holder { kind label keeperId } } }
    pageInfo { hasNextPage endCursor }
  }
}`;

/** The same page of a collection in one statement, as somebody would write it by hand. */
const JOINED = `SELECT a.id, a.register_number, a.sex, a.birth_earliest, a.birth_latest, a.name, t.scientific_name, t.common_name,
    (SELECT json_agg(json_build_object('kind', m.kind, 'value', m.value) ORDER BY m.recorded_at, m.id)
     FROM animal_mark m WHERE m.animal_id = a.id AND m.superseded_at IS NULL) AS marks,
    c.holder_kind, k.name AS holder, c.keeper_id
  FROM animal_access x
  JOIN animal a ON a.id = x.animal_id
  JOIN taxon t ON t.id = a.taxon_id
  LEFT JOIN custody c ON c.animal_id = a.id AND c.superseded_at IS NULL AND c.valid_to IS NULL
  LEFT JOIN keeper k ON k.id = c.keeper_id
  WHERE x.keeper_id = $1 AND x.relation = 'holder' AND x.valid_to IS NULL AND a.count > 0
  ORDER BY a.id LIMIT 51`;

/** A page of 50 animals over HTTP, against Fastify without the application over the same rows. */
export async function benchList(config: Config): Promise<void> {
  const registry = await Registry.open(config);
  const [viewer] = await registry.makeClub('lists', KEEPERS);
  if (viewer === undefined) throw new RangeError('No keeper.');
  await registry.register('lists', 'Testudo enumerata', toPedigreeAnimals(makeHerd(ANIMALS, 5), ANIMALS, 'L'));
  const call = {
    path: '/graphql',
    body: { query: QUERY, variables: { keeperId: viewer.keeperId } },
    token: await registry.tokenOf(viewer),
  };
  const statements = await statementsOf(registry, call);
  await registry.close();

  const joined: Statement = { text: JOINED, values: [viewer.keeperId] };
  const [api, bare] = await Promise.all([startServer('api'), startServer([statements, [joined]])]);
  try {
    const kinds: { name: string; port: number; call: Call }[] = [
      { name: 'GraphQL', port: api.port, call },
      {
        name: `bare Fastify, the same ${statements.length} statements`,
        port: bare.port,
        call: { path: '/0', body: {} },
      },
      { name: 'bare Fastify, one joined statement', port: bare.port, call: { path: '/1', body: {} } },
    ];
    const best = kinds.map(() => ({ perSecond: 0, p50: 0, p95: 0, bytes: 0 }));
    for (const { port, call } of kinds) await load(port, Array(CLIENTS).fill(call) as Call[], { seconds: 3 });
    for (let round = 0; round < ROUNDS; round++) {
      for (const [i, { port, call }] of kinds.entries()) {
        const result = await load(port, Array(CLIENTS).fill(call) as Call[], { seconds: SECONDS });
        if (result.perSecond > (best[i]?.perSecond ?? 0)) best[i] = result;
      }
    }
    printTable(
      `50 animals with taxon, marks, holder: ${CLIENTS} clients, ${SECONDS} s, better of ${ROUNDS} rounds`,
      ['', 'requests/s', 'p50 ms', 'p95 ms', 'answer, bytes', 'GraphQL : this'],
      kinds.map(({ name }, i) => {
        const { perSecond, p50, p95, bytes } = best[i] ?? { perSecond: NaN, p50: NaN, p95: NaN, bytes: NaN };
        const share = ratio((best[0]?.perSecond ?? NaN) / perSecond);
        return [name, whole(perSecond), milliseconds(p50), milliseconds(p95), whole(bytes), share];
      }),
    );
    printNote(
      'Each server is a process of its own. GraphQL also checks the token and builds the viewer for every request;',
    );
    printNote('"the same statements" includes those that do so.');
  } finally {
    await Promise.all([api.stop(), bare.stop()]);
  }
}

/** What the API asks the database for one such page, once it is warm. */
async function statementsOf(registry: Registry, { path, body, token }: Call): Promise<Statement[]> {
  const once = async (): Promise<void> => {
    const { statusCode, body: text } = await registry.app.inject({
      method: 'POST',
      url: path,
      payload: body,
      headers: { authorization: `Bearer ${token}` },
    });
    const nodes = text.split('"registerNumber"').length - 1;
    if (statusCode !== 200 || nodes !== 50) throw new Error(`The page answered ${statusCode} with ${nodes} animals.`);
  };
  await once();
  return recordStatements(once);
}
