import { readFileSync } from 'node:fs';
import { z } from 'zod';

/** Every name the processes read from the environment; anything else is ignored. */
const environment = z.object({
  PORT: z.coerce.number().int().min(0).max(65535).default(3000),
  PUBLIC_URL: z.url().optional(),
  DATA_DIR: z.string().min(1).default('.data'),
  DATABASE_URL: z.url({ protocol: /^postgres(ql)?$/, error: 'must be a postgresql:// address' }),
  REDIS_URL: z.url({ protocol: /^rediss?$/, error: 'must be a redis:// or rediss:// address' }).optional(),
  SMTP_URL: z.url({ protocol: /^smtps?$/, error: 'must be an smtp:// or smtps:// address' }).optional(),
  /** The sender of mails, `Name <address>` or an address. */
  MAIL_FROM: z
    .string()
    .includes('@', { error: 'must be an address, or a name with an address in angle brackets' })
    .optional(),
  S3_BUCKET: z.string().min(3).max(63).optional(),
  S3_REGION: z.string().min(1).default('us-east-1'),
  /** A server of one's own; without it the region's public service. */
  S3_ENDPOINT: z.url({ protocol: /^https?$/, error: 'must be an http:// or https:// address' }).optional(),
  S3_ACCESS_KEY_ID: z.string().min(1).optional(),
  S3_SECRET_ACCESS_KEY: z.string().min(1).optional(),
  AUTH_SECRET_FILE: z.string().min(1, 'must name a file that holds the secret tokens are signed with'),
  /** Set by the launcher: invented data, generated secrets, loopback only. */
  KITHBOOK_DEMO: z.enum(['0', '1']).default('0'),
});

/** A server that takes mails, and in whose name they go out. */
export type MailConfig = { readonly url: string; readonly from: string };

/** A bucket that keeps files. */
export type S3Config = {
  readonly bucket: string;
  readonly region: string;
  readonly endpoint: string | undefined;
  readonly accessKeyId: string;
  readonly secretAccessKey: string;
};

export type Config = {
  readonly port: number;
  /** Where readers of a printed paper reach the server. */
  readonly publicUrl: string;
  readonly dataDir: string;
  readonly databaseUrl: string;
  readonly redisUrl: string | undefined;
  /** Who sends mails; they stay in the registry's own outbox when undefined. */
  readonly mail: MailConfig | undefined;
  /** Where files are kept; a folder below `dataDir` when undefined. */
  readonly s3: S3Config | undefined;
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
  const { PORT, PUBLIC_URL, DATA_DIR, DATABASE_URL, REDIS_URL, AUTH_SECRET_FILE, KITHBOOK_DEMO, ...rest } = parsed.data;
  return {
    port: PORT,
    publicUrl: (PUBLIC_URL ?? `http://127.0.0.1:${PORT}`).replace(/\/$/, ''),
    dataDir: DATA_DIR,
    databaseUrl: DATABASE_URL,
    redisUrl: REDIS_URL,
    mail: readMail(rest),
    s3: readS3(rest),
    authSecret: readSecret(AUTH_SECRET_FILE),
    demo: KITHBOOK_DEMO === '1',
  };
}

function readMail({
  SMTP_URL: url,
  MAIL_FROM: from,
}: {
  SMTP_URL?: string | undefined;
  MAIL_FROM?: string | undefined;
}) {
  if (url === undefined) return undefined;
  if (from === undefined) throw new ConfigError('MAIL_FROM is missing: SMTP_URL is set, and mails need a sender');
  return { url, from };
}

type S3Names = 'S3_BUCKET' | 'S3_REGION' | 'S3_ENDPOINT' | 'S3_ACCESS_KEY_ID' | 'S3_SECRET_ACCESS_KEY';

/** All of it or nothing: half a bucket would fail at the first file, and the rest would go to the folder meanwhile. */
function readS3(given: Pick<z.infer<typeof environment>, S3Names>): S3Config | undefined {
  const { S3_BUCKET: bucket, S3_REGION: region, S3_ENDPOINT: endpoint } = given;
  const { S3_ACCESS_KEY_ID: accessKeyId, S3_SECRET_ACCESS_KEY: secretAccessKey } = given;
  const required = { S3_BUCKET: bucket, S3_ACCESS_KEY_ID: accessKeyId, S3_SECRET_ACCESS_KEY: secretAccessKey };
  const missing = Object.entries(required).find(([, value]) => value === undefined)?.[0];
  if (bucket === undefined && accessKeyId === undefined && secretAccessKey === undefined && endpoint === undefined)
    return undefined;
  if (bucket === undefined || accessKeyId === undefined || secretAccessKey === undefined)
    throw new ConfigError(`${missing ?? 'S3_BUCKET'} is missing: the other S3_ names are set, and a bucket needs all`);
  return { bucket, region, endpoint, accessKeyId, secretAccessKey };
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
