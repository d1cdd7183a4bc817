export type DatabaseKind = 'sqlite' | 'postgres';
