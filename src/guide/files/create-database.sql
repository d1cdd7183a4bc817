-- A role that owns one database and may do nothing else. Run by a superuser of the server, who sets the password:
--   psql --set=password="$PASSWORD" postgres < create-database.sql
\set ON_ERROR_STOP on
create role stillcount login password :'password'
  nosuperuser nocreatedb nocreaterole noreplication connection limit 30;
create database stillcount owner stillcount encoding 'UTF8' template template0;
revoke all on database stillcount from public;
\connect stillcount
revoke all on schema public from public;
alter schema public owner to stillcount;
