import { readFileSync } from 'node:fs';
import { z } from 'zod';

/** Every name the processes read from the environment; anything else is ignored. */
const environment = z.object({
  PORT: z.coerce.number().int().min(0).max(65535).default(3000),
  PUBLIC_URL: z.url().optional(),
  DATA_DIR: z.string().min(1).default('.data'),
  DATABASE_URL: z.url({ protocol: /^postgres(ql)?$/, error: 'must be a postgresql:// address' }),
  REDIS_URL: z.url({ protocol: /^rediss?$/, error: 'must be a redis:// or rediss:// address' }).optional(),
  AUTH_SECRET_FILE: z.string().min(1, 'must name a file that holds the secret tokens are signed with'),
  /** Set by the launcher: invented data, generated secrets, loopback only. */
  KITHBOOK_DEMO: z.enum(['0', '1']).default('0'),
});

export type Config = {
  readonly port: number;
  /** Where readers of a printed paper reach the server. */
  readonly publicUrl: string;
  readonly dataDir: string;
  readonly databaseUrl: string;
  readonly redisUrl: string | undefined;
  readonly authSecret: string;
  readonly demo: boolean;
};

/** A configuration that cannot be used; the message names the variable and the remedy in one line. */
export class ConfigError extends Error {}

/** Reads and checks the environment. Throws `ConfigError` with one line that names the first problem. */
export function readConfig(env: NodeJS.ProcessEnv): Config {
  const given = Object.fromEntries(Object.entries(env).filter(([, value]) => value !== ''));
  const parsed = environment.safeParse(given);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const name = String(issue?.path[0] ?? 'environment');
    throw new ConfigError(
      `${name} ${given[name] === undefined ? 'is missing' : `is not usable`}: ${issue?.message ?? ''}`,
    );
  }
  const { PORT, PUBLIC_URL, DATA_DIR, DATABASE_URL, REDIS_URL, AUTH_SECRET_FILE, KITHBOOK_DEMO } = parsed.data;
  return {
    port: PORT,
    publicUrl: (PUBLIC_URL ?? `http://127.0.0.1:${PORT}`).replace(/\/$/, ''),
    dataDir: DATA_DIR,
    databaseUrl: DATABASE_URL,
    redisUrl: REDIS_URL,
    authSecret: readSecret(AUTH_SECRET_FILE),
    demo: KITHBOOK_DEMO === '1',
  };
}

function readSecret(file: string): string {
  let secret: string;
  try {
    secret = readFileSync(file, 'utf8').trim();
  } catch {
    throw new ConfigError(`AUTH_SECRET_FILE names a file that cannot be read: ${file}`);
  }
  // 32 characters: below that an attacker who has one token could search for the secret.
  if (secret.length < 32)
    throw new ConfigError('AUTH_SECRET_FILE must hold at least 32 characters; make one with: openssl rand -hex 32');
  return secret;
}
