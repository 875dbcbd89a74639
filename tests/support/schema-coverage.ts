/** As much of JSON Schema as the published forms of this registry use. */
export type JsonSchema = {
  readonly $ref?: string;
  readonly $defs?: Readonly<Record<string, JsonSchema>>;
  readonly const?: string;
  readonly type?: string;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly items?: JsonSchema;
  readonly anyOf?: readonly JsonSchema[];
  readonly oneOf?: readonly JsonSchema[];
};

/** The kind a branch is for, where the branches of a choice are told apart by one. */
const kindOf = (schema: JsonSchema): string | undefined => schema.properties?.['kind']?.const;

type Defs = NonNullable<JsonSchema['$defs']>;

function branches(named: JsonSchema, defs: Defs): { schema: JsonSchema; kind: string | undefined }[] {
  const schema = named.$ref === undefined ? named : (defs[named.$ref.replace('#/$defs/', '')] ?? {});
  const choice = schema.anyOf ?? schema.oneOf;
  if (choice === undefined) return [{ schema, kind: undefined }];
  return choice
    .filter(({ type }) => type !== 'null')
    .flatMap((each) => {
      const kind = kindOf(each);
      return branches(each, defs).map((branch) => ({ schema: branch.schema, kind: kind ?? branch.kind }));
    });
}

/** Every property a schema knows, as a path: `animals[].facts[weight].body.grams`. */
export function propertiesOf(schema: JsonSchema, path = '', defs: Defs = schema.$defs ?? {}): string[] {
  return branches(schema, defs).flatMap(({ schema: branch, kind }) => {
    const here = kind === undefined ? path : path.replace(/\[\]$/, `[${kind}]`);
    const inner = Object.entries(branch.properties ?? {}).flatMap(([name, each]) => {
      const next = here === '' ? name : `${here}.${name}`;
      return [next, ...propertiesOf(each, next, defs)];
    });
    return [...inner, ...(branch.items === undefined ? [] : propertiesOf(branch.items, `${here}[]`, defs))];
  });
}

/** Of these the ones that say something in a document: not null, and no empty text, list or object that could be filled. */
export function propertiesSaid(
  schema: JsonSchema,
  value: unknown,
  path = '',
  defs: Defs = schema.$defs ?? {},
): string[] {
  if (value === null || value === undefined) return [];
  const said = branches(schema, defs).filter(
    ({ kind }) => kind === undefined || kind === (value as { kind?: unknown }).kind,
  );
  return said.flatMap(({ schema: branch, kind }) => {
    const here = kind === undefined ? path : path.replace(/\[\]$/, `[${kind}]`);
    if (Array.isArray(value))
      return branch.items === undefined
        ? []
        : (value as unknown[]).flatMap((each) => propertiesSaid(branch.items ?? {}, each, `${here}[]`, defs));
    if (typeof value !== 'object') return [];
    return Object.entries(branch.properties ?? {}).flatMap(([name, each]) => {
      const inner = (value as Record<string, unknown>)[name];
      const next = here === '' ? name : `${here}.${name}`;
      return isEmpty(inner, each) ? [] : [next, ...propertiesSaid(each, inner, next, defs)];
    });
  });
}

function isEmpty(value: unknown, schema: JsonSchema): boolean {
  if (value === null || value === undefined || value === '') return true;
  if (Array.isArray(value)) return value.length === 0;
  const canHold = Object.keys(schema.properties ?? {}).length > 0;
  return typeof value === 'object' && canHold && Object.keys(value).length === 0;
}
