import { type CastKey, DEMO_PASSWORD, emailOf } from './people.js';

/** What a newcomer reads after `npm start`: who to sign in as, and a first query to paste. */
export function welcome(baseUrl: string): string {
  const line = (key: CastKey, what: string) => `  ${emailOf(key).padEnd(28)} ${what}`;
  const first = JSON.stringify({
    query: 'mutation($i: SignInInput!) { signIn(input: $i) { accessToken } }',
    variables: { i: { email: emailOf('odile'), password: DEMO_PASSWORD } },
  });
  const second = JSON.stringify({ query: '{ me { keepers { id name clubs { name } } } }' });
  return [
    '',
    'The demo is an invented club with invented keepers. Nothing here is legal or veterinary advice:',
    'the licensing authority and a licensed veterinarian decide.',
    '',
    `Sign in as (password for all: ${DEMO_PASSWORD})`,
    line('odile', 'crested geckos; handed a juvenile to a buyer without an account'),
    line('bram', 'poison frogs; sent half a lot of froglets by post'),
    line('petra', 'received them, one dead'),
    line('tamarack', 'a house; offers a gecko to Odile'),
    line('hanne', 'coordinator of the region XA-NO'),
    line('goran', 'bought a gecko in two instalments; claims half of a tortoise'),
    line('freya', 'shows one shelf to the club; guardian of wren, for whom a gecko waits'),
    line('ciro', 'lent a tortoise to june, picks first of its young; is asked about goran’s claim'),
    line('june', 'has that tortoise on loan, and its young'),
    '',
    'A first query (the answer holds a token):',
    `  TOKEN=$(curl -s ${baseUrl}/graphql -H 'content-type: application/json' -d '${first}' | sed 's/.*accessToken":"//;s/".*//')`,
    `  curl -s ${baseUrl}/graphql -H 'content-type: application/json' -H "authorization: Bearer $TOKEN" -d '${second}'`,
    '',
    `Shorter: PORT=${new URL(baseUrl).port} npm run -s ask -- odile '{ me { keepers { id name } } }'`,
    '',
    'README.md goes on from here. Ctrl-C stops everything; the data stays.',
  ].join('\n');
}
