/**
 * `npm run -s ask -- WHO QUERY [VARIABLES]`: signs in, sends one GraphQL document and prints the answer. WHO is an e-mail
 * address, or the first part of one of the demo's. The password is KITHBOOK_PASSWORD, else the demo's; the registry is
 * KITHBOOK_URL, else this machine's.
 */
const url = `${process.env.KITHBOOK_URL ?? `http://127.0.0.1:${process.env.PORT ?? 3000}`}/graphql`;
const password = process.env.KITHBOOK_PASSWORD ?? 'reeds-and-lilies';
const [who, query, variables = '{}'] = process.argv.slice(2);

async function send(body, token) {
  const headers = { 'content-type': 'application/json', ...(token ? { authorization: `Bearer ${token}` } : {}) };
  const answer = await fetch(url, { method: 'POST', headers, body: JSON.stringify(body) });
  return answer.json();
}

function fail(message) {
  console.error(message);
  process.exit(1);
}

if (!who || !query) fail("Usage: npm run -s ask -- WHO 'QUERY' ['VARIABLES AS JSON']");
let parsed;
try {
  parsed = JSON.parse(variables);
} catch {
  fail('The variables are no JSON: write them like \'{"id":"..."}\'.');
}
try {
  const input = { email: who.includes('@') ? who : `${who}@fenland.example`, password };
  const signedIn = await send({
    query: 'mutation ($input: SignInInput!) { signIn(input: $input) { accessToken } }',
    variables: { input },
  });
  if (signedIn.errors) fail(signedIn.errors[0].message);
  const answer = await send({ query, variables: parsed }, signedIn.data.signIn.accessToken);
  console.log(JSON.stringify(answer.errors ? answer : answer.data, null, 2));
  if (answer.errors) process.exitCode = 1;
} catch (error) {
  fail(`No registry answers at ${url} (${error.cause?.code ?? error.message}): run npm start, or set KITHBOOK_URL.`);
}
