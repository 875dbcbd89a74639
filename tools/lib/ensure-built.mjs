/**
 * Builds `dist/` with SWC: a mirror of `apps`, `libs` and `prisma` as JavaScript, when the sources changed. The Prisma
 * client is generated first when the schema changed. Types are not checked here (`npm run check` does).
 */
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { setupLock } from './ensure-installed.mjs';
import { LaunchError, progress, root } from './launcher.mjs';
import { runPrisma } from './prisma-cli.mjs';
import { withLock } from './process-lock.mjs';

const SOURCE_FOLDERS = ['apps', 'libs', 'prisma/seed'];
const GENERATED_FOLDER = 'prisma/generated';
/** The web desk is built by its own tool. */
const NOT_OURS = new Set(['apps/web']);
/** Anything here changes what the compiler or the generator puts out. */
const BUILD_SETTINGS = ['.swcrc', 'package-lock.json', 'tools/lib/ensure-built.mjs'];
const GENERATOR_SETTINGS = ['prisma.config.ts', 'package-lock.json'];

const clientMark = path.join(root, GENERATED_FOLDER, '.schema-hash');
const buildMark = path.join(root, 'dist', '.sources-hash');

/** Generates and compiles what is stale. `force` does both anyway. Progress goes to stderr. */
export async function ensureBuilt({ force = false } = {}) {
  const isCurrent = () => !force && readMark(clientMark) === schemaHash() && readMark(buildMark) === sourcesHash();
  if (isCurrent()) return;
  await withLock(
    setupLock,
    async () => {
      if (isCurrent()) return; // another launcher may have built while this one waited
      if (force || readMark(clientMark) !== schemaHash()) await generateClient();
      await compile();
    },
    () => progress('Waiting for another launcher to finish the build ...'),
  );
}

async function generateClient() {
  const hash = schemaHash(); // before the work: an edit made meanwhile must count as new
  const { status, output } = await runPrisma(['generate']);
  if (status !== 0) throw new LaunchError(`prisma generate failed:\n${output}`);
  fs.writeFileSync(clientMark, hash);
}

async function compile() {
  const started = performance.now();
  const hash = sourcesHash();
  const { transformFile } = await import('@swc/core');
  for (const folder of [...SOURCE_FOLDERS, GENERATED_FOLDER]) {
    fs.rmSync(path.join(root, 'dist', folder), { recursive: true, force: true });
  }
  const files = listFiles([...SOURCE_FOLDERS, GENERATED_FOLDER]);
  await Promise.all(files.map((file) => (file.endsWith('.ts') ? compileFile(transformFile, file) : copyFile(file))));
  fs.writeFileSync(buildMark, hash);
  progress(`Built ${files.length} files in ${((performance.now() - started) / 1000).toFixed(1)} s`);
}

async function compileFile(transformFile, file) {
  const { code, map } = await transformFile(path.join(root, file), { cwd: root, sourceMaps: true }).catch((error) => {
    const [what] = error.message.split('Caused by:'); // below it: the compiler's own stack
    throw new LaunchError(`${file} does not compile:\n${what.trimEnd()}`);
  });
  const target = path.join(root, 'dist', file.replace(/\.ts$/, '.js'));
  fs.mkdirSync(path.dirname(target), { recursive: true });
  fs.writeFileSync(target, `${code}//# sourceMappingURL=${path.basename(target)}.map\n`);
  fs.writeFileSync(`${target}.map`, map);
}

/** Files that are read beside the code (text, fonts, tables) keep their place in the mirror. */
function copyFile(file) {
  const target = path.join(root, 'dist', file);
  fs.mkdirSync(path.dirname(target), { recursive: true });
  fs.copyFileSync(path.join(root, file), target);
}

const sourcesHash = () => hashFiles([...listFiles(SOURCE_FOLDERS), ...schemaFiles(), ...BUILD_SETTINGS]);
const schemaHash = () => hashFiles([...schemaFiles(), ...GENERATOR_SETTINGS]);
const schemaFiles = () => listFiles(['prisma/schema']);

/** Files below the folders, relative to the project with `/`, sorted; tests and declarations are not built. */
function listFiles(folders) {
  const found = [];
  const visit = (folder) => {
    if (NOT_OURS.has(folder) || !fs.existsSync(path.join(root, folder))) return;
    for (const entry of fs.readdirSync(path.join(root, folder), { withFileTypes: true })) {
      const file = `${folder}/${entry.name}`;
      if (entry.isDirectory()) visit(file);
      else if (!entry.name.startsWith('.') && !/(\.spec|\.d)\.ts$|\.md$/.test(entry.name)) found.push(file);
    }
  };
  folders.forEach(visit);
  return found.sort();
}

function hashFiles(files) {
  const hash = createHash('sha256');
  for (const file of files) {
    const content = fs.readFileSync(path.join(root, file));
    hash.update(`${file}\0${content.length}\0`).update(content);
  }
  return hash.digest('hex');
}

function readMark(file) {
  try {
    return fs.readFileSync(file, 'utf8');
  } catch {
    return undefined;
  }
}
