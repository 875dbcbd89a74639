#!/usr/bin/env node
/**
 * Schema engine for the Prisma command line.
 *
 * The stock CLI starts a native executable for `migrate`, `db` and `generate`, and downloads it when it is absent. The
 * registry must install from npm alone, so this file takes that executable's place: it answers the same JSON-RPC lines
 * on stdin/stdout and the same `cli` sub-commands, but runs the engine compiled to WebAssembly that npm already ships
 * (`@prisma/schema-engine-wasm`) over the `pg` driver adapter.
 *
 * Use: `PRISMA_SCHEMA_ENGINE_BINARY=$PWD/tools/schema-engine.mjs npx prisma migrate deploy`.
 * Every step that differs from a plain adapter says why; `tests/migration/schema-engine.spec.ts` holds each of them.
 */
import fs from 'node:fs';
import path from 'node:path';
import { createRequire } from 'node:module';
import readline from 'node:readline';
import { PrismaPg } from '@prisma/adapter-pg';
import { bindMigrationAwareSqlAdapterFactory, ColumnTypeEnum } from '@prisma/driver-adapter-utils';
import pg from 'pg';
import { parse as parseConnectionString } from 'pg-connection-string';

/** PostgreSQL type oids (pg_type.dat): the internal one-byte "char", and text. */
const OID_INTERNAL_CHAR = 18;
const OID_TEXT = 25;

/** Driver or SQLSTATE code → the Prisma error code the CLI turns into its own message (Prisma error reference, P10xx). */
const PRISMA_CODE = {
  '3D000': 'P1003',
  '28P01': 'P1000',
  28000: 'P1010',
  ECONNREFUSED: 'P1001',
  ENOTFOUND: 'P1001',
  ETIMEDOUT: 'P1001',
};

/** JSON-RPC method → engine method, where the two differ. */
const METHOD_NAMES = { getDatabaseVersion: 'version' };

const args = process.argv.slice(2);
const databaseUrl = readDatabaseUrl();

/** Values of a repeated `--name value` option, in order. */
function optionValues(name) {
  return args.flatMap((arg, index) => (arg === name ? [args[index + 1]] : []));
}

/** The CLI passes the configured datasource as JSON; by hand the environment is enough. */
function readDatabaseUrl() {
  const [datasource] = optionValues('--datasource');
  return (datasource ? JSON.parse(datasource).url : undefined) ?? process.env.DATABASE_URL;
}

/** The CLI reads the engine's log as one JSON object a line on stderr. */
function logError(message, errorCode) {
  const fields = { message, error_code: errorCode, is_panic: false };
  process.stderr.write(`\n${JSON.stringify({ level: 'ERROR', target: 'schema_engine::logger', fields })}\n`);
}

/** Runs `work` on the server's maintenance database, with the target database's name ready for SQL. */
async function onMaintenanceDatabase(work) {
  const url = new URL(databaseUrl);
  const target = pg.escapeIdentifier(decodeURIComponent(url.pathname.slice(1)));
  url.pathname = '/postgres';
  url.searchParams.delete('schema');
  const client = new pg.Client({ connectionString: url.href });
  await client.connect();
  try {
    return await work(client, target);
  } finally {
    await client.end();
  }
}

const createDatabase = () => onMaintenanceDatabase((client, target) => client.query(`CREATE DATABASE ${target}`));

const dropDatabase = () =>
  onMaintenanceDatabase((client, target) => client.query(`DROP DATABASE IF EXISTS ${target} WITH (FORCE)`));

async function checkConnection() {
  const client = new pg.Client({ connectionString: databaseUrl });
  await client.connect();
  await client.end();
}

/** `schema-engine cli <command>`: exit 0, or an error line on stderr and exit 1. */
async function runCliCommand(command) {
  const commands = {
    'can-connect-to-database': checkConnection,
    'create-database': createDatabase,
    'drop-database': dropDatabase,
  };
  try {
    const run = commands[command];
    if (!run) throw new Error(`unsupported command: ${command}`);
    await run();
  } catch (error) {
    const message = error.code === '3D000' ? 'Database does not exist' : String(error.message || error.code);
    logError(message, PRISMA_CODE[error.code] ?? 'P1001');
    process.exit(1);
  }
}

/**
 * The engine's catalogue queries select columns of the internal type "char", which adapter-pg refuses to read. The
 * driver is told they are text, and the fields are remembered so that `readInternalChars` can name them Character.
 */
function passInternalCharThroughDriver() {
  const addFields = pg.Result.prototype.addFields;
  pg.Result.prototype.addFields = function (fields) {
    for (const field of fields) {
      if (field.dataTypeID !== OID_INTERNAL_CHAR) continue;
      field.dataTypeID = OID_TEXT;
      field.wasInternalChar = true;
    }
    return addFields.call(this, fields);
  };
}

/** Makes `adapter.queryRaw` report the columns marked above as Character, which is what the engine expects. */
function readInternalChars(adapter) {
  const performIO = adapter.performIO.bind(adapter);
  const queryRaw = adapter.queryRaw.bind(adapter);
  const charColumns = new WeakMap();
  adapter.performIO = async (query) => {
    const result = await performIO(query);
    charColumns.set(
      query,
      result.fields?.map((field) => field.wasInternalChar === true),
    );
    return result;
  };
  adapter.queryRaw = async (query) => {
    const result = await queryRaw(query);
    const isChar = charColumns.get(query) ?? [];
    result.columnTypes = result.columnTypes.map((type, index) => (isChar[index] ? ColumnTypeEnum.Character : type));
    return result;
  };
}

/**
 * adapter-pg cuts a script at every `;`, which breaks function bodies quoted with `$$`. The simple query protocol takes
 * the script whole, as one implicit transaction.
 */
function sendScriptsWhole(adapter) {
  adapter.executeScript = async (sql) => {
    try {
      await adapter.client.query(sql);
    } catch (error) {
      adapter.onError(error);
    }
  };
}

function prepareAdapter(adapter) {
  sendScriptsWhole(adapter);
  readInternalChars(adapter);
  return adapter;
}

/** Shadow databases made by this process, dropped at the latest when it ends. */
const shadowAdapters = [];
const dropShadowDatabases = () => Promise.all(shadowAdapters.map((adapter) => adapter.dispose()));

/**
 * adapter-pg drops its shadow database while its own pool is still connected to it; PostgreSQL refuses and the database
 * stays behind. Here the pool ends first. `dispose` may be called twice (by the engine and at exit).
 */
async function connectShadow(factory) {
  const adapter = prepareAdapter(await factory.connectToShadowDb());
  const { rows } = await adapter.client.query('SELECT current_database() AS name');
  const shadow = pg.escapeIdentifier(rows[0].name);
  adapter.client.on('error', () => {}); // the forced drop below may cut an idle connection: nothing is lost by it
  const drop = async () => {
    await adapter.client.end();
    await onMaintenanceDatabase((client) => client.query(`DROP DATABASE IF EXISTS ${shadow} WITH (FORCE)`));
  };
  let dropped;
  adapter.dispose = () => (dropped ??= drop());
  shadowAdapters.push(adapter);
  return adapter;
}

function adapterFactory() {
  // Discrete fields, never `connectionString`: for the shadow database adapter-pg copies these options and replaces
  // `database`, which pg ignores beside a connection string. The shadow would be the real database.
  const { schema, ...connection } = parseConnectionString(databaseUrl);
  const port = connection.port ? Number(connection.port) : 5432;
  // One connection: the advisory lock and SET search_path belong to a session.
  const factory = new PrismaPg({ ...connection, port, max: 1 }, schema ? { schema } : {});
  return {
    provider: factory.provider,
    adapterName: factory.adapterName,
    connect: async () => prepareAdapter(await factory.connect()),
    connectToShadowDb: () => connectShadow(factory),
  };
}

/** Instantiates the WebAssembly module by hand: Node imports no `.wasm` without a flag. */
async function loadEngine() {
  passInternalCharThroughDriver();
  const glue = await import('@prisma/schema-engine-wasm/schema_engine_bg');
  const gluePath = createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm/schema_engine_bg');
  const bytes = fs.readFileSync(path.join(path.dirname(gluePath), 'schema_engine_bg.wasm'));
  const { instance } = await WebAssembly.instantiate(bytes, { './schema_engine_bg.js': glue });
  glue.__wbg_set_wasm(instance.exports);
  instance.exports.__wbindgen_start();
  const datamodels = optionValues('--datamodels').map((file) => [file, fs.readFileSync(file, 'utf8')]);
  const options = { datamodels: datamodels.length > 0 ? datamodels : undefined };
  return glue.SchemaEngine.new(options, () => {}, bindMigrationAwareSqlAdapterFactory(adapterFactory()));
}

function reply(message) {
  process.stdout.write(`${JSON.stringify({ jsonrpc: '2.0', ...message })}\n`);
}

function replyError(id, message, data) {
  reply({ id, error: { code: 4466, message, data: { is_panic: false, ...data } } });
}

/** Serves JSON-RPC requests in order until stdin closes. */
function serveRequests() {
  let engine;
  let requestInFlight;
  let panic;
  let queue = Promise.resolve();

  // The CLI takes an engine that simply exits for success: `migrate deploy` would end with status 0 having done
  // nothing. The request in flight is therefore answered with the failure first.
  const crash = (error) => {
    const message = panic ?? String(error?.stack ?? error);
    logError(message);
    if (requestInFlight !== undefined) replyError(requestInFlight, message, { message });
    setTimeout(() => process.exit(1), 50);
  };
  globalThis.PRISMA_WASM_PANIC_REGISTRY = { set_message: (message) => (panic = message) };
  process.on('uncaughtException', crash);
  process.on('unhandledRejection', crash);

  const answer = async ({ method, params }) => {
    if (method === 'createDatabase') {
      await createDatabase();
      return { databaseName: decodeURIComponent(new URL(databaseUrl).pathname.slice(1)) };
    }
    engine ??= await loadEngine();
    const name = METHOD_NAMES[method] ?? method;
    if (typeof engine[name] !== 'function') throw new Error(`unsupported method: ${method}`);
    return engine[name](params);
  };

  const handle = async (request) => {
    requestInFlight = request.id;
    try {
      const result = await answer(request);
      // The native engine prints a diff by asking the CLI to; the WebAssembly one returns it.
      if (request.method === 'diff' && result?.stdout) {
        reply({ id: 1_000_000 + request.id, method: 'print', params: { content: result.stdout } });
      }
      reply({ id: request.id, result: result ?? null });
    } catch (error) {
      replyError(request.id, 'An error happened. Check the data field for details.', {
        message: String(error?.message ?? error),
        error_code: PRISMA_CODE[error?.code] ?? error?.code ?? error?.data?.error_code,
        meta: error?.meta ?? {},
      });
    } finally {
      requestInFlight = undefined;
    }
  };

  const finish = () =>
    queue
      .then(dropShadowDatabases)
      .catch((error) => logError(String(error?.message ?? error)))
      .finally(() => process.exit(0));

  readline
    .createInterface({ input: process.stdin })
    .on('line', (line) => {
      const request = JSON.parse(line);
      if (!request.method) return; // the CLI's answer to our `print`
      queue = queue.then(() => handle(request));
    })
    .on('close', finish);
  process.on('SIGTERM', finish);
  process.on('SIGINT', finish);
}

const cliAt = args.indexOf('cli');
if (cliAt >= 0) await runCliCommand(args[cliAt + 1]);
else serveRequests();
