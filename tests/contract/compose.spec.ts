import { readFileSync } from 'node:fs';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { Ajv } from 'ajv';
import { parse } from 'yaml';

/**
 * The container layout without a container engine: the part of the Compose specification that docker-compose.yml uses
 * (github.com/compose-spec/compose-spec, `service`, `secrets`, `volumes`), and that what it names exists.
 */

const root = join(import.meta.dirname, '..', '..');
const read = (file: string) => readFileSync(join(root, file), 'utf8');

type Service = {
  command?: string[];
  environment?: Record<string, string>;
  secrets?: string[];
  depends_on?: object;
  volumes?: string[];
};
type Compose = {
  services: Record<string, Service>;
  secrets: Record<string, { file: string }>;
  volumes: Record<string, null>;
};

const strings = { type: 'array', items: { type: 'string' }, minItems: 1 };
const healthcheck = {
  type: 'object',
  properties: {
    test: strings,
    interval: { type: 'string' },
    timeout: { type: 'string' },
    retries: { type: 'integer' },
  },
  required: ['test'],
  additionalProperties: false,
};
const conditions = ['service_started', 'service_healthy', 'service_completed_successfully'];
const service = {
  type: 'object',
  properties: {
    image: { type: 'string' },
    build: { const: '.' },
    init: { type: 'boolean' },
    restart: { enum: ['no', 'unless-stopped'] },
    command: strings,
    environment: { type: 'object', additionalProperties: { type: 'string' } },
    secrets: strings,
    volumes: strings,
    ports: strings,
    healthcheck,
    depends_on: {
      type: 'object',
      additionalProperties: {
        type: 'object',
        properties: { condition: { enum: conditions } },
        required: ['condition'],
      },
    },
  },
  required: ['image', 'restart'],
  additionalProperties: false,
};
const schema = {
  type: 'object',
  properties: {
    services: { type: 'object', additionalProperties: service },
    secrets: {
      type: 'object',
      additionalProperties: { type: 'object', properties: { file: { type: 'string' } }, required: ['file'] },
    },
    volumes: { type: 'object' },
  },
  required: ['services', 'secrets', 'volumes'],
  patternProperties: { '^x-': {} },
  additionalProperties: false,
};

/** What is wrong with a compose file's text: nothing, or one line each. */
function faults(text: string): string[] {
  const compose = parse(text, { merge: true }) as Compose;
  const validate = new Ajv({ allErrors: true }).compile(schema);
  if (!validate(compose)) return (validate.errors ?? []).map((error) => `${error.instancePath} ${error.message ?? ''}`);
  const names = new Set(Object.keys(compose.services));
  return Object.entries(compose.services).flatMap(([name, { command, environment, secrets, depends_on, volumes }]) => [
    ...Object.keys(depends_on ?? {})
      .filter((other) => !names.has(other))
      .map((other) => `${name}: no service ${other}`),
    ...(secrets ?? []).filter((secret) => !(secret in compose.secrets)).map((secret) => `${name}: no secret ${secret}`),
    ...(volumes ?? [])
      .filter((volume) => !((volume.split(':')[0] ?? '') in compose.volumes))
      .map((volume) => `${name}: no volume ${volume}`),
    ...Object.values(environment ?? {}).flatMap((value) => {
      const secret = /^\/run\/secrets\/(.+)$/.exec(value)?.[1];
      return secret !== undefined && !secrets?.includes(secret) ? [`${name}: secret ${secret} is not mounted`] : [];
    }),
    ...(command?.[0] === 'node' ? missingProgram(name, command[1] ?? '') : []),
    ...(name === 'postgres' || name === 'redis' ? [] : unknownNames(name, environment ?? {})),
  ]);
}

/** A program is a launcher of tools/, or what the build makes of a source file. */
function missingProgram(name: string, program: string): string[] {
  const source = program.startsWith('dist/') ? program.replace(/^dist\//, '').replace(/\.js$/, '.ts') : program;
  return existsSync(join(root, source)) ? [] : [`${name}: no program ${program}`];
}

/** The configuration reads exactly the names of its schema (libs/platform/config/config.ts). */
function unknownNames(name: string, environment: Record<string, string>): string[] {
  const known = new Set(
    read('libs/platform/config/config.ts')
      .match(/^ {2}[A-Z][A-Z0-9_]+(?=:)/gm)
      ?.map((line) => line.trim()),
  );
  return Object.keys(environment)
    .filter((key) => !known.has(key))
    .map((key) => `${name}: the configuration does not read ${key}`);
}

describe('docker-compose.yml', () => {
  const text = read('docker-compose.yml');

  it('is sound and names only what exists', () => {
    expect(faults(text)).toEqual([]);
    expect(Object.keys((parse(text) as Compose).services)).toEqual(['postgres', 'redis', 'migrate', 'api', 'worker']);
  });

  it.each([
    ['a misspelt key', 'restart: unless-stopped', 'restrat: unless-stopped', 'must'],
    ['a missing program', 'dist/apps/worker/src/main.js', 'dist/apps/worker/main.js', 'no program'],
    ['an unknown setting', 'REDIS_URL:', 'REDIS_ADDRESS:', 'does not read REDIS_ADDRESS'],
    ['a secret that is not mounted', '[database_url, auth_secret]', '[database_url]', 'is not mounted'],
    ['a dependency that is not there', 'redis: { condition', 'cache: { condition', 'no service cache'],
    ['a volume that is not there', "['data:/data']", "['files:/data']", 'no volume'],
  ])('would not pass with %s', (_, from, to, complaint) => {
    expect(text).toContain(from);
    expect(faults(text.replace(from, to)).join('\n')).toContain(complaint);
  });
});

describe('Dockerfile', () => {
  it('copies only what is there, and ends as an ordinary user', () => {
    const lines = read('Dockerfile').split('\n');
    const copied = lines.flatMap((line) => /^COPY (?!--from)(.+) \S+$/.exec(line)?.[1]?.split(' ') ?? []);
    expect(copied.length).toBeGreaterThan(4);
    expect(copied.filter((file) => !existsSync(join(root, file)))).toEqual([]);
    expect(lines.filter((line) => line.startsWith('USER '))).toEqual(['USER node']);
  });
});
