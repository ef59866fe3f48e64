"""What is wrong in a job: evidence, chances, next steps, swap tests, closing the job."""
