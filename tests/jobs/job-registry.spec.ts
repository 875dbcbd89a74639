import 'reflect-metadata';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { JOBS } from '../../apps/worker/src/jobs.js';
import { JobRegistry } from '../../libs/platform/jobs/index.js';
import { defineJob } from '../../libs/platform/outbox/index.js';
import { counting, countOne } from './job-bench.js';

describe('the check of jobs and handlers at boot', () => {
  const other = defineJob({ ...countOne, name: 'test.other' });

  it('accepts one handler a job', () => {
    expect(new JobRegistry([countOne], [counting()]).attemptsOf('test.count-one')).toBe(3);
  });

  it('refuses a job without a handler', () => {
    expect(() => new JobRegistry([countOne, other], [counting()])).toThrow('Job test.other has no handler.');
  });

  it('refuses a second handler', () => {
    expect(() => new JobRegistry([countOne], [counting(), counting()])).toThrow('Job test.count-one has 2 handlers.');
  });

  it('refuses two jobs of one name', () => {
    expect(() => new JobRegistry([countOne, defineJob({ ...countOne, version: 1 })], [counting()])).toThrow(
      'Two jobs are called test.count-one.',
    );
  });

  it('refuses a handler of a job that is not listed', () => {
    expect(() => new JobRegistry([], [counting()])).toThrow(
      'The handler of test.count-one handles a job that is not listed.',
    );
  });
});

describe('the worker', () => {
  it('lists every job contract of the source tree', () => {
    const libs = join(import.meta.dirname, '..', '..', 'libs');
    const contracts = readdirSync(libs, { recursive: true, encoding: 'utf8' }).filter((file) =>
      file.endsWith('.job.ts'),
    );
    const names = contracts.flatMap((file) => {
      const name = /defineJob\(\{\s*name: '([^']+)'/.exec(readFileSync(join(libs, file), 'utf8'))?.[1];
      return name === undefined ? [`${file} defines no job`] : [name];
    });
    expect(names.length).toBeGreaterThan(0);
    expect(JOBS.map(({ name }) => name).sort()).toEqual(names.sort());
  });
});
