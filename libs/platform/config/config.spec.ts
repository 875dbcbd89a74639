import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from '@jest/globals';
import { ConfigError, readConfig } from './config.js';

const folder = mkdtempSync(join(tmpdir(), 'kithbook-config-'));
const AUTH_SECRET_FILE = join(folder, 'secret');
writeFileSync(AUTH_SECRET_FILE, 'x'.repeat(32));
afterAll(() => rmSync(folder, { recursive: true }));

const least = { DATABASE_URL: 'postgresql://localhost/kithbook', AUTH_SECRET_FILE };
const bucket = { S3_BUCKET: 'papers', S3_ACCESS_KEY_ID: 'key', S3_SECRET_ACCESS_KEY: 'secret' };

describe('readConfig', () => {
  it('needs no more than a database and a secret, and keeps files in a folder then', () => {
    expect(readConfig(least)).toMatchObject({ port: 3000, dataDir: '.data', redisUrl: undefined, s3: undefined });
  });

  it('wants a sender where there is a mail server', () => {
    const SMTP_URL = 'smtp://127.0.0.1:2525';
    expect(readConfig({ ...least, SMTP_URL, MAIL_FROM: 'Kithbook <post@example.org>' }).mail).toEqual({
      url: SMTP_URL,
      from: 'Kithbook <post@example.org>',
    });
    expect(() => readConfig({ ...least, SMTP_URL })).toThrow(/^MAIL_FROM is missing/);
  });

  it('takes a bucket whole', () => {
    expect(readConfig({ ...least, ...bucket, S3_ENDPOINT: 'http://127.0.0.1:9000' }).s3).toEqual({
      bucket: 'papers',
      region: 'us-east-1',
      endpoint: 'http://127.0.0.1:9000',
      accessKeyId: 'key',
      secretAccessKey: 'secret',
    });
  });

  it.each(['S3_BUCKET', 'S3_ACCESS_KEY_ID', 'S3_SECRET_ACCESS_KEY'])('names %s where it alone is missing', (name) => {
    expect(() => readConfig({ ...least, ...bucket, [name]: '' })).toThrow(
      new ConfigError(`${name} is missing: the other S3_ names are set, and a bucket needs all`),
    );
  });

  it.each([
    [{ DATABASE_URL: 'mysql://localhost/x' }, /^DATABASE_URL is not usable/],
    [{ DATABASE_URL: '' }, /^DATABASE_URL is missing/],
    [{ PORT: '70000' }, /^PORT is not usable/],
    [{ AUTH_SECRET_FILE: join(folder, 'none') }, /^AUTH_SECRET_FILE names a file that cannot be read/],
  ])('says in one line what is wrong: %j', (wrong, message) => {
    expect(() => readConfig({ ...least, ...wrong })).toThrow(message);
  });
});
