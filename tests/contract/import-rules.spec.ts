import { execFile } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';

const root = join(import.meta.dirname, '..', '..');

/** Files of a small project that keeps every rule. */
const lawful: Record<string, string[]> = {
  'libs/kernel/index.ts': ['./day.js'],
  'libs/kernel/day.ts': [],
  'libs/kernel/day.spec.ts': ['node:assert', './day.js'],
  'libs/genetics/index.ts': [],
  'libs/platform/clock.ts': ['../kernel/index.js'],
  'libs/platform/prisma/index.ts': ['./client.js'],
  'libs/platform/prisma/client.ts': ['../../../prisma/generated/client.js', '@prisma/adapter-pg'],
  'libs/platform/queue/index.ts': ['bullmq', '../clock.js'],
  'libs/animal/index.ts': ['./app/see.js'],
  'libs/animal/app/see.ts': ['../animal.store.js', '../core/sex.core.js', '../../platform/prisma/index.js'],
  'libs/animal/core/sex.core.ts': ['../../kernel/index.js', '../../genetics/index.js', './age.core.js'],
  'libs/animal/core/age.core.ts': [],
  'libs/animal/animal.store.ts': ['../../prisma/generated/client.js'],
  'libs/animal/system-animal.store.ts': ['../../prisma/generated/client.js'],
  'libs/animal/jobs/remind.ts': ['../system-animal.store.js'],
  'libs/transfer/index.ts': ['../animal/index.js'],
  'apps/api/src/main.ts': ['../../../libs/transfer/index.js', '../../../libs/platform/queue/index.js'],
  'apps/worker/src/main.ts': ['bullmq'],
  'prisma/generated/client.ts': [],
  'tests/support/world.ts': ['../../prisma/generated/client.js'],
  'tests/store/animal.spec.ts': ['../../libs/animal/animal.store.js', '../support/world.js'],
};

/** For each rule at least one file that breaks it, and it alone. */
const breaches: [rule: string, file: string, imported: string][] = [
  ['arrow-animal', 'libs/animal/up.ts', '../transfer/index.js'],
  ['arrow-lineage', 'libs/lineage/sideways.ts', '../custody/index.js'],
  ['arrow-platform', 'libs/platform/up.ts', '../animal/index.js'],
  ['known-folder', 'apps/api/src/unknown.ts', '../../../libs/shop/index.js'],
  ['foundations-import-nothing', 'libs/kernel/clock.ts', 'node:timers'],
  ['foundations-import-nothing', 'libs/genetics/maths.ts', '../kernel/index.js'],
  ['core-is-pure', 'libs/animal/core/read.core.ts', 'node:fs'],
  ['core-is-pure', 'libs/animal/core/see.core.ts', '../app/see.js'],
  ['core-is-pure', 'libs/transfer/other.core.ts', '../animal/index.js'],
  ['contexts-meet-at-index', 'libs/transfer/deep.ts', '../animal/app/see.js'],
  ['contexts-meet-at-index', 'apps/api/src/deep.ts', '../../../libs/animal/app/see.js'],
  ['platform-parts-meet-at-index', 'libs/animal/inside.store.ts', '../platform/prisma/client.js'],
  ['prisma-only-in-stores', 'libs/animal/animal.resolver.ts', '../../prisma/generated/client.js'],
  ['prisma-only-in-stores', 'apps/api/src/client.ts', '@prisma/adapter-pg'],
  ['prisma-only-in-stores', 'tests/store/raw.spec.ts', '../../prisma/generated/client.js'],
  ['system-stores-only-in-jobs', 'libs/animal/request.ts', './system-animal.store.js'],
  ['bullmq-only-in-queue', 'libs/transfer/queue.ts', 'bullmq'],
  ['libs-below-apps', 'libs/transfer/app.ts', '../../apps/api/src/main.js'],
  ['libs-below-apps', 'libs/transfer/test.ts', '../../tests/support/world.js'],
  ['apps-without-tests', 'apps/api/src/test.ts', '../../../tests/support/world.js'],
  ['no-cycle', 'libs/transfer/ring-a.ts', './ring-b.js'],
  ['resolvable', 'libs/transfer/lost.ts', './nowhere.js'],
];
/** What the breaches lead to. A cycle is reported once, at its first file. */
const breachTargets: Record<string, string[]> = {
  'libs/custody/index.ts': [],
  'libs/shop/index.ts': [],
  'libs/transfer/ring-b.ts': ['./ring-a.js'],
};

describe('import rules', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'kithbook-imports-'));
    write('tsconfig.json', '{ "compilerOptions": { "module": "NodeNext", "moduleResolution": "NodeNext" } }');
    for (const name of ['bullmq', '@prisma/adapter-pg']) {
      write(`node_modules/${name}/package.json`, JSON.stringify({ name, version: '1.0.0', main: 'index.js' }));
      write(`node_modules/${name}/index.js`, '');
    }
    writeModules(lawful);
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  it('find nothing in a lawful project, and every breach, each under its own rule', async () => {
    expect(await violations()).toEqual([]);
    writeModules(breachTargets);
    for (const [, file, imported] of breaches) writeModules({ [file]: [imported] });
    expect(await violations()).toEqual(breaches.map(([rule, file]) => `${rule} ${file}`).sort());
  });

  it('have a breach for every kind of rule', async () => {
    const config = (await import(join(root, '.dependency-cruiser.cjs'))) as {
      default: { forbidden: { name: string }[] };
    };
    const kinds = config.default.forbidden.map(({ name }) => name.replace(/^arrow-.*/, 'arrow'));
    expect(new Set(breaches.map(([rule]) => rule.replace(/^arrow-.*/, 'arrow')))).toEqual(new Set(kinds));
  });

  function writeModules(modules: Record<string, string[]>): void {
    for (const [file, imports] of Object.entries(modules)) {
      write(file, `${imports.map((name) => `import '${name}';\n`).join('')}export const here = '${file}';\n`);
    }
  }

  function write(file: string, text: string): void {
    mkdirSync(dirname(join(folder, file)), { recursive: true });
    writeFileSync(join(folder, file), text);
  }

  async function violations(): Promise<string[]> {
    const cruiser = join(root, 'node_modules', 'dependency-cruiser', 'bin', 'dependency-cruise.mjs');
    const config = join(root, '.dependency-cruiser.cjs');
    const args = [cruiser, '--config', config, '--output-type', 'json', 'apps', 'libs', 'prisma', 'tests'];
    const output = await new Promise<string>((resolve) => {
      // The JSON output ends with a status of its own; what it says is compared instead.
      execFile(process.execPath, args, { cwd: folder, env: { ...process.env, NODE_OPTIONS: '' } }, (_, text) =>
        resolve(text),
      );
    });
    const { summary } = JSON.parse(output) as { summary: { violations: { from: string; rule: { name: string } }[] } };
    return summary.violations.map(({ from, rule }) => `${rule.name} ${from}`).sort();
  }
});
