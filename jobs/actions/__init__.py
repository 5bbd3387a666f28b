"""Every write of the site: one function per thing a person does, its event beside it, in one transaction."""
