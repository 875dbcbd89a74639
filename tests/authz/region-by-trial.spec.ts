import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { RegistryWorld } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

it('nobody names one region after the other, to find who is in the same', async () => {
  const asker = await world.keeper('Asker');
  const move = async (keeperId: string, region: string | null): Promise<string> => {
    const document = 'mutation ($input: UpdateKeeperInput!) { updateKeeper(input: $input) { keeper { region } } }';
    const { errors } = await server.ask(document, { input: { keeperId, region } }, asker.token);
    return errors?.[0]?.extensions.code ?? 'OK';
  };
  const open = async (region: string): Promise<string> => {
    const document = 'mutation ($input: OpenKeeperInput!) { openKeeper(input: $input) { keeper { id } } }';
    const { errors } = await server.ask(document, { input: { name: 'Another', region } }, asker.token);
    return errors?.[0]?.extensions.code ?? 'OK';
  };
  expect(await move(asker.keeperId, 'XA-NO')).toBe('OK');
  expect(await move(asker.keeperId, 'XA-SO')).toBe('OK');
  expect(await open('XA-EA')).toBe('OK');
  expect(await move(asker.keeperId, 'XA-WE')).toBe('RATE_LIMITED');
  expect(await open('XA-WE')).toBe('RATE_LIMITED');
  // Whoever names none any more is not kept from it.
  expect(await move(asker.keeperId, null)).toBe('OK');
});
